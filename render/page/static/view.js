// The picture and what is drawn over it. Places come as shares of what is shown.

const SVG = "http://www.w3.org/2000/svg";

export function draw(parent, tag, attributes, text) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  if (text !== undefined) element.textContent = text;
  parent.append(element);
  return element;
}

export class View {
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
    new ResizeObserver(() => this.layout()).observe(this.room);
    this.#listen();
  }

  /** How many pixels the screen has for the picture. */
  get dots() {
    const each = Math.min(devicePixelRatio || 1, 2);
    return Math.round(this.size.width * this.size.height * each * each);
  }

  layout() {
    const width = this.room.clientWidth, height = this.room.clientHeight;
    if (!width || !height) return;
    const wide = Math.min(width, height * this.shape);
    this.size = { width: Math.round(wide), height: Math.round(wide / this.shape) };
    const style = this.frame.style;
    style.width = `${this.size.width}px`;
    style.height = `${this.size.height}px`;
    style.left = `${Math.round((width - this.size.width) / 2)}px`;
    style.top = `${Math.round((height - this.size.height) / 2)}px`;
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

  paint() {
    const pen = this.canvas.getContext("2d", { alpha: false });
    const { width, height } = this.canvas;
    pen.imageSmoothingQuality = "high";
    if (this.after) pen.drawImage(this.after, 0, 0, width, height);
    const wiped = this.before && !this.wipe.hidden;
    if (wiped) {
      pen.save();
      pen.beginPath();
      pen.rect(0, 0, (width * this.border) / 100, height);
      pen.clip();
      pen.drawImage(this.before, 0, 0, width, height);
      pen.restore();
    }
    this.wipe.style.left = `${this.border}%`;
    this.wipe.setAttribute("aria-valuenow", Math.round(this.border));
    this.wipe.setAttribute("aria-valuetext", `${Math.round(this.border)} % before`);
    this.overlay();
  }

  /** Draw marks; each is `(svg, width, height) => void`. */
  overlay(marks = this.marks) {
    this.marks = marks;
    this.over.replaceChildren();
    for (const mark of marks) mark(this.over, this.size.width, this.size.height);
  }

  at(event) {
    const box = this.frame.getBoundingClientRect();
    const inside = (value) => Math.min(1, Math.max(0, value));
    return { x: inside((event.clientX - box.left) / box.width), y: inside((event.clientY - box.top) / box.height) };
  }

  #listen() {
    const { frame, wipe } = this;
    let down = null;
    frame.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || event.target.closest("#wipe")) return;
      down = { at: this.at(event), x: event.clientX, y: event.clientY, moved: false };
      frame.setPointerCapture(event.pointerId);
      down.grip = this.about.grip(down.at, event.pointerType === "touch" ? 26 : 12, this.size);
    });
    frame.addEventListener("pointermove", (event) => {
      const at = this.at(event);
      this.about.hover(at, event);
      if (!down) return;
      if (!down.moved && Math.hypot(event.clientX - down.x, event.clientY - down.y) < 4) return;
      if (!down.moved) {
        down.moved = true;
        down.grip?.begin?.(down.at);
      }
      down.grip?.move?.(at);
    });
    frame.addEventListener("pointerup", (event) => {
      if (!down) return;
      const { grip, moved } = down;
      down = null;
      if (moved) grip?.end?.(this.at(event));
      else this.about.click(this.at(event), event);
    });
    frame.addEventListener("pointercancel", () => {
      if (down?.moved) down.grip?.end?.(down.at);
      down = null;
    });
    frame.addEventListener("pointerleave", () => this.about.hover(null));
    frame.addEventListener("keydown", (event) => {
      if (event.target !== frame) return;
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!way) return;
      event.preventDefault();
      this.about.nudge(way[0] * (event.shiftKey ? 0.05 : 0.01), way[1] * (event.shiftKey ? 0.05 : 0.01));
    });
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
    this.about.cut(this.border);
  }
}

/** A word on a plate, kept inside the picture. */
export function plate(svg, x, y, words, width, height) {
  const group = draw(svg, "g", {});
  const text = draw(group, "text", { class: "plate-text", x: 0, y: 0 }, words);
  const box = text.getBBox();
  const left = Math.min(Math.max(4, x), width - box.width - 16), top = Math.min(Math.max(4, y), height - 24);
  text.setAttribute("x", left + 6);
  text.setAttribute("y", top + 15);
  const ground = draw(group, "rect", { class: "plate", x: left, y: top, width: box.width + 12, height: 21, rx: 2 });
  group.insertBefore(ground, text);
}

export function focusMark(spot, words) {
  return (svg, width, height) => {
    const x = spot[0] * width, y = spot[1] * height;
    if (x < -20 || y < -20 || x > width + 20 || y > height + 20) return;
    for (const kind of ["cased", "bright"]) {
      draw(svg, "path", { class: `mark ${kind}`, d: `M${x - 22} ${y}h14M${x + 8} ${y}h14M${x} ${y - 22}v14M${x} ${y + 8}v14` });
    }
    plate(svg, x + 16, y + 12, words, width, height);
  };
}

export function horizonMark(share, grip) {
  return (svg, width, height) => {
    const y = share * height;
    if (y < 0 || y > height) return;
    draw(svg, "path", { class: "mark cased", d: `M0 ${y}H${width}` });
    draw(svg, "path", { class: "mark bright dashed", d: `M0 ${y}H${width}` });
    plate(svg, 12, y + 6, grip ? "horizon: drag to where level ground ends" : "horizon", width, height);
  };
}

export function frameMark(frame) {
  return (svg, width, height) => {
    const [left, top, wide, high] = [frame[0] * width, frame[1] * height, frame[2] * width, frame[3] * height];
    draw(svg, "path", { class: "shade", d: `M0 0H${width}V${height}H0ZM${left} ${top}v${high}h${wide}v${-high}Z` });
    draw(svg, "rect", { class: "mark bright", x: left, y: top, width: wide, height: high });
  };
}

/** Outlines of what is sharp, in shares: hatched, with solid edges. */
export function bandMark(regions) {
  return (svg, width, height) => {
    const d = regions.map((region) => region.map((ring) => `M${ring.map(([x, y]) => `${(x * width).toFixed(1)} ${(y * height).toFixed(1)}`).join("L")}Z`).join("")).join("");
    if (!d) {
      plate(svg, width / 2 - 90, 10, "nothing in the picture is sharp", width, height);
      return;
    }
    const defs = draw(svg, "defs", {});
    const hatch = draw(defs, "pattern", { id: "hatch", width: 9, height: 9, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" });
    draw(hatch, "rect", { class: "hatch", x: 0, y: 0, width: 1.6, height: 9 });
    draw(svg, "path", { class: "band-fill", d, fill: "url(#hatch)", "fill-rule": "evenodd" });
    draw(svg, "path", { class: "mark cased", d });
    draw(svg, "path", { class: "band-edge", d });
    const first = regions[0][0];
    const place = first.reduce((best, point) => (point[1] < best[1] ? point : best), first[0]);
    plate(svg, 12, place[1] * height - 24, "sharp band", width, height);
  };
}

export function tellMarks(tales) {
  return (svg, width, height) => {
    tales.forEach(({ x, y, radius, lit }, at) => {
      const r = Math.max(14, (radius ?? 0) * height);
      draw(svg, "circle", { class: "mark cased", cx: x * width, cy: y * height, r });
      draw(svg, "circle", { class: lit ? "tale lit" : "tale", cx: x * width, cy: y * height, r });
      plate(svg, x * width + r * 0.7 + 2, y * height - r - 12, String(at + 1), width, height);
    });
  };
}

/** Where the band can be taken hold of. */
export function handleMarks(handles) {
  return (svg, width, height) => {
    for (const [x, y] of handles) {
      draw(svg, "rect", { class: "handle", x: x * width - 7, y: y * height - 7, width: 14, height: 14, rx: 2 });
    }
  };
}

/** Boxes drawn by hand: what must be sharp has solid edges, what must be soft dashed ones. */
export function boxMark(box, kind, words) {
  return (svg, width, height) => {
    const at = { x: box[0] * width, y: box[1] * height, width: (box[2] - box[0]) * width, height: (box[3] - box[1]) * height };
    draw(svg, "rect", { class: "mark cased", ...at });
    draw(svg, "rect", { class: `wish ${kind}`, ...at });
    plate(svg, at.x + 4, at.y + 4, words, width, height);
  };
}
