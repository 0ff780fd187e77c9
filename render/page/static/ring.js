// A ring as on a lens: engraved, turned by drag, wheel, arrow keys or a typed value.

import { metres } from "./words.js";

/**
 * How a ring's surface is engraved. `place` is where a value lies along the surface, in px;
 * marks go on `beyond` what it turns to, for what is typed.
 */
export function even(low, high, pxPerUnit, engraved, every, small, beyond = 0) {
  const marks = [];
  for (let value = Math.ceil((low - beyond) / small) * small; value <= high + beyond + 1e-9; value += small) {
    const rounded = Math.round(value * 1000) / 1000;
    const big = Math.abs(rounded / every - Math.round(rounded / every)) < 1e-6;
    marks.push({ value: rounded, name: big ? engraved(rounded) : "" });
  }
  return { low, high, marks, place: (value) => value * pxPerUnit, value: (place) => place / pxPerUnit };
}

export function doubling(low, high, pxPerDouble, marks) {
  return {
    low, high, marks,
    place: (value) => Math.log2(Math.min(value, high)) * pxPerDouble,
    value: (place) => 2 ** (place / pxPerDouble),
  };
}

export class Ring {
  /**
   * @param {object} about name, label, kind (words), barrel (engraving), step(value, by, big),
   *   turned(value), held(), released(), typed(text): reads it, worded(words)
   */
  constructor(about) {
    this.about = about;
    this.reach = about.barrel;
    this.value = about.rest ?? about.barrel.low;
    this.set = false;
    this.element = document.createElement("div");
    this.element.className = "ring";
    this.element.innerHTML = `<label></label><input type="text" autocomplete="off" spellcheck="false" inputmode="text"><div class="barrel" role="slider" tabindex="0"><canvas aria-hidden="true"></canvas></div><p class="fault" role="alert" hidden></p><p class="hint" hidden></p>`;
    [this.label, this.field, this.barrel, this.fault, this.hint] = this.element.children;
    this.canvas = this.barrel.firstElementChild;
    const id = `ring-${about.name}`;
    this.field.id = id;
    this.label.htmlFor = id;
    this.label.textContent = about.label;
    if (about.hint) this.element.title = about.hint;
    this.barrel.ariaLabel = `${about.label} ring`;
    this.barrel.ariaValueMin = about.barrel.low;
    this.barrel.ariaValueMax = Number.isFinite(about.barrel.high) ? about.barrel.high : 1e4;
    this.#listen();
    new ResizeObserver(() => this.draw()).observe(this.barrel);
    this.show(this.value, false);
  }

  limit(reach) {
    const { low, high } = reach ?? this.about.barrel;
    if (low === this.reach.low && high === this.reach.high) return;
    this.reach = { low, high };
    this.barrel.ariaValueMin = low;
    this.barrel.ariaValueMax = Number.isFinite(high) ? high : 1e4;
    this.draw();
  }

  /** Show a value without telling anybody. `set`: it was given, not assumed; `about`: measured. */
  show(value, set = true, about = false) {
    this.value = value;
    this.set = set;
    const text = this.words = about && this.about.name === "focus" ? metres(value) : this.about.kind.show(value);
    if (document.activeElement !== this.field || !this.typing) this.field.value = text;
    this.element.classList.toggle("unset", !set);
    this.barrel.ariaValueNow = Number.isFinite(value) ? Math.round(value * 100) / 100 : 1e4;
    this.barrel.ariaValueText = set ? text : `${text}, not set`;
    this.blame("");
    this.draw();
  }

  blame(sentence) {
    this.fault.textContent = sentence;
    this.fault.hidden = !sentence;
  }

  /** What the program says of the value, while it holds; `bad`: it cannot be dialled so. */
  note(sentence = "", bad = false) {
    if (this.hint.textContent === sentence) return;
    this.hint.className = bad ? "fault" : "hint";
    this.hint.role = bad ? "alert" : "status";
    this.hint.textContent = sentence;
    this.hint.hidden = !sentence;
  }

  #turn(value) {
    const { low, high } = this.reach;
    const kept = Math.min(high, Math.max(low, value));
    const settled = this.about.settle ? this.about.settle(kept) : kept;
    this.asked = this.element.ariaBusy = null;
    if (settled === this.value && this.set && !this.from) return;
    this.from = null;
    this.show(settled);
    this.about.turned(settled);
  }

  #step(by, big) {
    const from = Math.min(this.from ?? this.value, this.about.barrel.high);
    this.#turn(this.about.step(from, by, big));
  }

  #listen() {
    const { about, barrel, field } = this;
    for (const grip of [barrel, field]) this.#drag(grip);
    this.element.addEventListener("wheel", (event) => {
      if (!event.target.closest(".barrel, input")) return;
      event.preventDefault();
      this.wheeled = (this.wheeled ?? 0) + (event.deltaY || event.deltaX);
      if (Math.abs(this.wheeled) < 30) return;
      about.held();
      this.#step(this.wheeled < 0 ? 1 : -1, event.shiftKey);
      this.wheeled = 0;
      clearTimeout(this.resting);
      this.resting = setTimeout(about.released, 300);
    }, { passive: false });
    const keys = (event) => {
      const by = { ArrowUp: 1, ArrowDown: -1, PageUp: 1, PageDown: -1 }[event.key]
        ?? (event.target === barrel ? { ArrowRight: 1, ArrowLeft: -1 }[event.key] : undefined);
      if (by !== undefined) {
        event.preventDefault();
        about.held();
        this.typing = false;
        this.#step(by, event.shiftKey || event.key.startsWith("Page"));
        clearTimeout(this.resting);
        this.resting = setTimeout(about.released, 300);
      } else if (event.target === barrel && (event.key === "Home" || event.key === "0")) {
        event.preventDefault();
        this.#rest();
      }
    };
    barrel.addEventListener("keydown", keys);
    field.addEventListener("keydown", keys);
    barrel.addEventListener("dblclick", () => this.#rest());
    field.addEventListener("focus", () => field.select());
    field.addEventListener("input", () => { this.typing = true; });
    field.addEventListener("change", () => this.#typed());
    field.addEventListener("keydown", (event) => {
      if (event.key === "Enter") this.#typed();
      if (event.key === "Escape") { this.typing = false; this.show(this.value, this.set); }
    });
    field.addEventListener("blur", () => { if (!this.typing) this.field.value = this.words; });
  }

  #rest() {
    if (this.about.rest === undefined) return;
    this.typing = false;
    this.#turn(this.about.rest);
  }

  /** What is typed is read by the program; who turns the ring meanwhile is not overruled. */
  async #typed() {
    if (!this.typing) return;
    this.typing = false;
    const asked = (this.asked = Symbol("typed"));
    this.element.ariaBusy = "true";
    try {
      const { words, value } = await this.about.typed(this.field.value);
      if (asked !== this.asked) return;
      this.from = null;
      if (value !== null) this.show(value);
      this.about.worded(words);
    } catch (error) {
      if (asked === this.asked) this.blame(error.message);
    } finally {
      if (asked === this.asked) this.element.ariaBusy = null;
    }
  }

  #drag(grip) {
    let start = null;
    grip.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      start = { x: event.clientX, place: this.about.barrel.place(this.from ?? this.value), far: false };
    });
    grip.addEventListener("pointermove", (event) => {
      if (!start || event.buttons === 0) return;
      const moved = event.clientX - start.x;
      if (!start.far && Math.abs(moved) < 4) return;
      if (!start.far) {
        start.far = true;
        grip.setPointerCapture(event.pointerId);
        this.field.blur();
        this.typing = false;
        this.about.held();
      }
      const { barrel } = this.about;
      const slow = event.shiftKey ? 0.2 : 1;
      this.#turn(barrel.value(start.place + (grip === this.field ? moved : -moved) * slow));
    });
    const end = () => {
      if (start?.far) this.about.released();
      start = null;
    };
    grip.addEventListener("pointerup", end);
    grip.addEventListener("pointercancel", end);
  }

  /** A barrel seen from the side: marks crowd together towards its edges, names end before. */
  draw() {
    const { canvas, about } = this;
    const width = this.barrel.clientWidth, height = this.barrel.clientHeight;
    if (!width) return;
    const dots = devicePixelRatio || 1;
    canvas.width = Math.round(width * dots);
    canvas.height = Math.round(height * dots);
    const pen = canvas.getContext("2d");
    pen.scale(dots, dots);
    const look = getComputedStyle(this.element);
    const ink = look.getPropertyValue("--ink"), muted = look.getPropertyValue("--muted"), index = look.getPropertyValue("--index");
    const radius = width / 2, here = about.barrel.place(this.value);
    pen.font = `400 12px "Inter Page", system-ui, sans-serif`;
    let [clearLeft, clearRight] = [8, width - 8];
    if (about.ends) {
      pen.fillStyle = muted;
      pen.textAlign = "left";
      pen.fillText(about.ends[0], 8, 33);
      pen.textAlign = "right";
      pen.fillText(about.ends[1], width - 8, 33);
      clearLeft += pen.measureText(about.ends[0]).width + 6;
      clearRight -= pen.measureText(about.ends[1]).width + 6;
    }
    pen.textAlign = "center";
    pen.fillStyle = ink;
    for (const { value, name } of about.barrel.marks) {
      const turn = (about.barrel.place(value) - here) / radius;
      if (Math.abs(turn) > 1.3) continue;
      const x = radius + radius * Math.sin(turn), half = pen.measureText(name).width / 2;
      pen.globalAlpha = Math.cos(turn) * (name ? 1 : 0.55);
      pen.fillRect(x - 0.5, 8, 1, name ? 9 : 5);
      if (!name || Math.abs(turn) > 0.95 || x - half < clearLeft || x + half > clearRight) continue;
      pen.globalAlpha = Math.max(0.7, Math.cos(turn));
      pen.fillText(name, x, 33);
    }
    pen.globalAlpha = this.set ? 1 : 0.6;
    pen.fillStyle = index;
    pen.beginPath();
    pen.moveTo(radius - 5, 0);
    pen.lineTo(radius + 5, 0);
    pen.lineTo(radius, 7);
    pen.fill();
    pen.fillRect(radius - 0.75, 0, 1.5, 18);
  }
}
