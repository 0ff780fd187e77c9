// The strip beside the picture: rings for the lens, fields for the place.

import { Ring, doubling, even } from "./ring.js";
import { STOPS, distanceKind, headingKind, heightKind, lensKind, metres, pitchKind, sideKind, stopKind } from "./words.js";
import * as shot from "./state.js";

const by = (small, big) => (value, way, large) => Math.round((value + way * (large ? big : small)) / Math.abs(small)) * Math.abs(small);
const times = (small, big) => (value, way, large) => value * (large ? big : small) ** way;

const stopMarks = STOPS.map((name, third) => ({ value: 2 ** (third / 6), name: third % 6 === 3 || third % 6 === 0 ? name : "" }));
const stopBarrel = doubling(1, 2 ** (30 / 6), 56, stopMarks);

const lensMarks = [12, 15, 17, 20, 24, 28, 35, 45, 50, 60, 70, 85, 90, 105, 135, 150, 180, 200, 250, 300, 400]
  .map((value) => ({ value, name: [17, 24, 28, 35, 45, 60, 90, 135, 200, 300, 400].includes(value) ? String(value) : "" }));
const distances = [0.5, 0.7, 1, 1.5, 2, 3, 4, 5, 7, 10, 15, 20, 30, 40, 50, 70, 100, 150, 200, 300, 500, 700, 1000, 2000]
  .map((value) => ({ value, name: [0.5, 1, 2, 3, 5, 10, 20, 30, 50, 100, 200, 500, 1000].includes(value) ? String(value) : "" }));
distances.push({ value: 4000, name: "∞" });
const focusBarrel = doubling(0.4, 4000, 46, distances);
const heights = [1, 1.5, 2, 3, 5, 7, 10, 15, 20, 30, 50, 70, 100, 150, 200, 300]
  .map((value) => ({ value, name: [1, 2, 3, 5, 10, 20, 30, 50, 100, 200, 300].includes(value) ? String(value) : "" }));

const sided = (value) => String(Math.abs(value));

export const RINGS = [
  { name: "focus", label: "Focus", kind: distanceKind, barrel: focusBarrel, step: times(1.05, 1.3), settle: (v) => (v > 2500 ? Infinity : Number(v.toPrecision(3))), hint: "Click in the picture to focus there" },
  { name: "tilt", label: "Tilt", kind: sideKind("tilt", "not tilted"), barrel: even(-15, 15, -18, sided, 2, 0.5), step: by(-0.5, -2), rest: 0, settle: (v) => Math.round(v * 10) / 10 },
  { name: "swing", label: "Swing", kind: sideKind("swing", "not swung"), barrel: even(-15, 15, 18, sided, 2, 0.5), step: by(0.5, 2), rest: 0, settle: (v) => Math.round(v * 10) / 10 },
  {
    name: "f", label: "f-number", kind: stopKind, barrel: stopBarrel,
    step: (value, way, large) => 2 ** ((Math.round(6 * Math.log2(value)) + way * (large ? 3 : 1)) / 6),
    settle: (value) => 2 ** (Math.round(6 * Math.log2(value)) / 6),
  },
  { name: "lens", label: "Lens", kind: lensKind, barrel: doubling(10, 500, 84, lensMarks), step: times(1.02, 1.12), settle: (v) => Math.round(v * 10) / 10 },
  { name: "rise", label: "Rise", kind: sideKind("rise", "no rise"), barrel: even(-20, 20, 12, sided, 4, 1), step: by(0.5, 2), rest: 0, settle: (v) => Math.round(v * 10) / 10 },
  { name: "shift", label: "Shift sideways", kind: sideKind("shift", "no shift"), barrel: even(-20, 20, 12, sided, 4, 1), step: by(0.5, 2), rest: 0, settle: (v) => Math.round(v * 10) / 10 },
];

export const PLACE_RINGS = [
  { name: "height", label: "Lens above ground", kind: heightKind, barrel: doubling(0.5, 400, 58, heights), step: times(1.05, 1.3), settle: (v) => Number(v.toPrecision(3)) },
  { name: "pitch", label: "Looking", kind: pitchKind, barrel: even(-30, 89, 9, sided, 10, 2), step: by(0.5, 5), rest: 0, settle: (v) => Math.round(v * 10) / 10 },
];

export const WALK_RINGS = [
  {
    name: "heading", label: "Looking towards, compass", kind: headingKind, step: by(1, 10), settle: (v) => Math.round(v),
    barrel: even(-360, 720, 3, (value) => ({ 0: "N", 90: "E", 180: "S", 270: "W" })[((value % 360) + 360) % 360] ?? String(((value % 360) + 360) % 360), 30, 10),
  },
  { name: "distance", label: "Away from the subject", kind: heightKind, barrel: doubling(1, 1000, 58, distances.filter(({ value }) => value < 2000)), step: times(1.05, 1.3), settle: (v) => Number(v.toPrecision(3)) },
];

/** How far each ring turns on the named lens: tilt and swing share one axis, and so do the shifts. */
function reach({ limits, tilt, swing, rise, shift, lens }) {
  const tenth = (value) => Math.floor(10 * value + 1e-6) / 10, rad = Math.PI / 180;
  const turn = (most, other) => tenth(Math.acos(Math.min(1, Math.cos(most * rad) / Math.cos(other * rad))) / rad);
  const slide = (other) => tenth(Math.sqrt(Math.max(0, limits.shift ** 2 - other ** 2)));
  const either = (most) => ({ low: -most, high: most });
  return {
    tilt: either(turn(limits.tilt, swing)),
    swing: either(Math.min(limits.swing, turn(limits.tilt, tilt))),
    rise: either(slide(shift)),
    shift: either(slide(rise)),
    f: { low: limits.widest, high: limits.smallest },
    lens: { low: lens, high: lens },
  };
}

/** Rings that write one value of the shot each, and read it back. */
export class Hands {
  constructor(home, abouts, turned) {
    this.rings = new Map();
    for (const about of abouts) {
      const ring = new Ring({
        ...about,
        turned: (value) => turned(about.name, about.kind.write(value)),
        held: shot.hold,
        released: shot.release,
      });
      this.rings.set(about.name, ring);
      home.append(ring.element);
    }
  }

  /** Follow the shot; where it says nothing, follow what the program took instead. */
  follow(values, told) {
    const reaches = told?.limits ? reach(told) : {};
    for (const [name, ring] of this.rings) {
      ring.limit(reaches[name]);
      const words = values[name];
      let value = words === undefined || words.includes(",") ? null : ring.about.kind.read(words);
      const assumed = name === "focus" ? told?.focus_m : told?.[name];
      if (value === null && assumed !== undefined && assumed !== null) value = assumed;
      if (value === null) continue;
      if (name === "focus" && value > 4000) value = Infinity;
      if (value !== ring.value || ring.set !== (words !== undefined)) ring.show(value, words !== undefined);
    }
  }

  redraw() {
    for (const ring of this.rings.values()) ring.draw();
  }
}

/** A labelled text field that writes one value of the shot. */
export function field(home, { name, label, hint, empty, turned }) {
  const row = document.createElement("div");
  row.className = "field";
  row.innerHTML = `<label></label><input type="text" autocomplete="off" spellcheck="false"><p class="hint"></p>`;
  const [title, input, small] = row.children;
  input.id = `field-${name}`;
  title.htmlFor = input.id;
  title.textContent = label;
  small.textContent = hint ?? "";
  small.hidden = !hint;
  input.placeholder = empty ?? "";
  input.addEventListener("change", () => turned(input.value.trim() || null));
  home.append(row);
  return { row, follow: (value) => { if (document.activeElement !== input) input.value = value ?? ""; } };
}

/** A labelled choice that writes one value of the shot; the first choice takes it away. */
export function choice(home, { name, label, options, turned }) {
  const row = document.createElement("div");
  row.className = "field";
  const title = document.createElement("label"), select = document.createElement("select");
  select.id = `field-${name}`;
  title.htmlFor = select.id;
  title.textContent = label;
  for (const [value, words] of options) select.append(new Option(words, value));
  select.addEventListener("change", () => turned(select.value || null));
  row.append(title, select);
  home.append(row);
  return { row, follow: (value) => { select.value = value ?? ""; } };
}

export function group(home, title, words) {
  const section = document.createElement("section");
  section.className = "group";
  const head = document.createElement("h3");
  head.textContent = title;
  section.append(head);
  if (words) {
    const text = document.createElement("p");
    text.textContent = words;
    section.append(text);
  }
  home.append(section);
  return section;
}

export { metres };
