// The picture and the hands in it. Places come as shares of what is shown.

import { cased, layPlates } from "./marks.js";

const inside = (value) => Math.min(1, Math.max(0, value));

export class View {
  /**
   * @param {object} about laid(), click(at), grip(at, reach, size), hover(at), nudge(dx, dy),
   *   points(): whether keys move a cross that sets points, wheel(event)
   */
  constructor(about) {
    this.about = about;
    this.room = document.getElementById("view");
    this.frame = document.getElementById("frame");
    this.canvas = document.getElementById("picture");
    this.over = document.getElementById("over");
    this.wipe = document.getElementById("wipe");
    this.shape = 1.5;
    this.size = { width: 0, height: 0 };
    this.after = this.before = null;
    this.border = 50;
    this.marks = [];
    this.above = 0;
    this.cross = { x: 0.5, y: 0.5 };
    this.carried = null;
    new ResizeObserver(() => this.layout()).observe(this.room);
    this.#pointers();
    this.#keys();
    this.#border();
  }

  get dots() {
    const each = Math.min(devicePixelRatio || 1, 2);
    return Math.round(this.size.width * this.size.height * each * each);
  }

  /** Leave room over the picture, as a share of its height: a horizon may lie there. */
  headroom(share) {
    if (Math.abs(share - this.above) < 0.01) return;
    this.above = share;
    this.layout();
  }

  layout() {
    const width = this.room.clientWidth, height = this.room.clientHeight;
    if (!width || !height) return;
    const wide = Math.min(width, (height / (1 + this.above)) * this.shape);
    this.size = { width: Math.round(wide), height: Math.round(wide / this.shape) };
    const free = height - this.size.height * (1 + this.above);
    const style = this.frame.style;
    style.width = `${this.size.width}px`;
    style.height = `${this.size.height}px`;
    style.left = `${Math.round((width - this.size.width) / 2)}px`;
    style.top = `${Math.round(free / 2 + this.size.height * this.above)}px`;
    const each = Math.min(devicePixelRatio || 1, 2);
    this.canvas.width = Math.round(this.size.width * each);
    this.canvas.height = Math.round(this.size.height * each);
    this.over.setAttribute("viewBox", `0 0 ${this.size.width} ${this.size.height}`);
    this.paint();
    this.about.laid();
  }

  show(bitmap, shape) {
    this.after?.close();
    this.after = bitmap;
    this.frame.dataset.shown = Number(this.frame.dataset.shown ?? 0) + 1;
    if (Math.abs(shape - this.shape) > 1e-4) {
      this.shape = shape;
      this.layout();
    } else this.paint();
  }

  clear() {
    this.after?.close();
    this.before?.close();
    this.after = this.before = null;
    const pen = this.canvas.getContext("2d", { alpha: false });
    pen.fillStyle = getComputedStyle(this.canvas).backgroundColor;
    pen.fillRect(0, 0, this.canvas.width, this.canvas.height);
    this.overlay([]);
  }

  showBefore(bitmap) {
    this.before?.close();
    this.before = bitmap;
    this.paint();
  }

  wiped(on) {
    if (this.wipe.hidden === !on) return;
    this.wipe.hidden = !on;
    if (!on) {
      this.before?.close();
      this.before = null;
    }
    this.paint();
  }

  paint() {
    const pen = this.canvas.getContext("2d", { alpha: false });
    const { width, height } = this.canvas;
    pen.imageSmoothingQuality = "high";
    if (this.after) pen.drawImage(this.after, 0, 0, width, height);
    if (this.before && !this.wipe.hidden) {
      const { before } = this;
      pen.save();
      pen.beginPath();
      pen.rect(0, 0, (width * this.border) / 100, height);
      pen.clip();
      const scale = Math.min(width / before.width, height / before.height);
      const [wide, high] = [before.width * scale, before.height * scale];
      if (wide < width - 2 || high < height - 2) {
        pen.fillStyle = "#141517";
        pen.fillRect(0, 0, width, height);
      }
      pen.drawImage(before, (width - wide) / 2, (height - high) / 2, wide, high);
      pen.restore();
    }
    this.wipe.style.left = `${this.border}%`;
    this.wipe.ariaValueNow = Math.round(this.border);
    this.wipe.ariaValueText = `${Math.round(this.border)} % before`;
    this.overlay();
  }

  overlay(marks = this.marks) {
    this.marks = marks;
    this.over.replaceChildren();
    const { width, height } = this.size;
    for (const mark of marks) mark(this.over, width, height);
    layPlates();
    if (this.about.points() && this.frame.matches(":focus-visible")) {
      const [x, y] = [this.cross.x * width, this.cross.y * height];
      cased(this.over, `M${x - 14} ${y}h28M${x} ${y - 14}v28`);
    }
  }

  /** Where an event is: kept inside the picture, and `free` as it is. */
  at(event) {
    const box = this.frame.getBoundingClientRect();
    const free = { x: (event.clientX - box.left) / box.width, y: (event.clientY - box.top) / box.height };
    return { x: inside(free.x), y: inside(free.y), free };
  }

  #pointers() {
    const { frame, room } = this;
    let down = null;
    const mine = (event) => !event.target.closest("#wipe, .handle, button") && (frame.contains(event.target) || (this.above > 0 && event.target === room));
    room.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || !mine(event)) return;
      this.carried = null;
      down = { at: this.at(event), x: event.clientX, y: event.clientY, moved: false, id: event.pointerId };
      frame.setPointerCapture(event.pointerId);
      down.grip = this.about.grip(down.at, event.pointerType === "touch" ? 26 : 12, this.size);
      down.outside = !frame.contains(event.target);
    });
    frame.addEventListener("pointermove", (event) => {
      if (event.target.closest(".handle")) return;
      const at = this.at(event);
      this.about.hover(at, event);
      if (!down || event.pointerId !== down.id) return;
      if (!down.moved && Math.hypot(event.clientX - down.x, event.clientY - down.y) < 4) return;
      if (!down.moved) {
        down.moved = true;
        down.grip?.begin?.(down.at);
      }
      down.grip?.move?.(at);
    });
    frame.addEventListener("pointerup", (event) => {
      if (!down || event.pointerId !== down.id) return;
      const { grip, moved, outside } = down;
      down = null;
      if (moved) grip?.end?.(this.at(event));
      else if (!outside) this.about.click(this.at(event), event);
    });
    frame.addEventListener("pointercancel", () => {
      if (down?.moved) (down.grip?.cancel ?? down.grip?.end)?.(down.at);
      down = null;
    });
    // a lifted finger has not gone elsewhere: what it pointed at stays seen
    frame.addEventListener("pointerleave", (event) => { if (event.pointerType !== "touch") this.about.hover(null); });
    room.addEventListener("wheel", (event) => this.about.wheel(event), { passive: false });
  }

  /** Arrows move the focus; or a cross, with which Enter sets a point and Space draws. */
  #keys() {
    const { frame } = this;
    for (const what of ["focus", "blur"]) frame.addEventListener(what, () => this.overlay());
    frame.addEventListener("keydown", (event) => {
      if (event.target !== frame || event.ctrlKey || event.metaKey || event.altKey) return;
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      const step = event.shiftKey ? 0.05 : 0.01;
      if (!this.about.points()) {
        if (!way) return;
        event.preventDefault();
        this.about.nudge(way[0] * step, way[1] * step);
        return;
      }
      const here = { ...this.cross, free: this.cross };
      if (way) {
        this.cross = { x: inside(here.x + way[0] * step), y: inside(here.y + way[1] * step) };
        this.carried?.move?.({ ...this.cross, free: this.cross });
        this.overlay();
      } else if (event.key === "Enter" && !this.carried) this.about.click(here);
      else if (event.key === " " || event.key === "Enter") {
        if (this.carried) {
          this.carried.end?.(here);
          this.carried = null;
        } else {
          this.carried = this.about.grip(here, 16, this.size);
          this.carried?.begin?.(here);
        }
      } else if (event.key === "Escape" && this.carried) {
        this.carried.cancel?.();
        this.carried = null;
      } else return;
      event.preventDefault();
    });
  }

  #border() {
    const { wipe } = this;
    wipe.addEventListener("pointerdown", (event) => {
      wipe.setPointerCapture(event.pointerId);
      event.stopPropagation();
    });
    wipe.addEventListener("pointermove", (event) => {
      if (!event.buttons) return;
      event.stopPropagation();
      this.#cut(100 * this.at(event).x);
    });
    wipe.addEventListener("keydown", (event) => {
      const by = { ArrowLeft: -2, ArrowRight: 2, Home: -100, End: 100 }[event.key];
      if (by === undefined) return;
      event.preventDefault();
      this.#cut(this.border + by);
    });
  }

  #cut(border) {
    this.border = Math.min(100, Math.max(0, border));
    this.paint();
  }
}
