// The rings: what is engraved on each, and how they follow the shot.

import * as api from "./api.js";
import { Ring, doubling, even } from "./ring.js";
import { STOPS, distanceKind, headingKind, heightKind, inFeet, lensKind, pitchKind, sideKind, stopKind, unitFor } from "./words.js";
import { make } from "./dialog.js";
import * as shot from "./state.js";

const by = (small, big) => (value, way, large) => Math.round((value + way * (large ? big : small)) / Math.abs(small)) * Math.abs(small);
const times = (small, big) => (value, way, large) => value * (large ? big : small) ** way;

const engraved = (values, named) => values.map((value) => ({ value, name: named.includes(value) ? String(value) : "" }));
const stopMarks = STOPS.map((name, third) => ({ value: 2 ** (third / 6), name: third % 3 === 0 ? name : "" }));
const lensMarks = engraved([12, 15, 17, 20, 24, 28, 35, 45, 50, 60, 70, 85, 90, 105, 135, 150, 180, 200, 250, 300, 400], [17, 24, 35, 45, 60, 90, 135, 200, 300, 400]);
const distances = engraved([0.5, 0.7, 1, 1.5, 2, 3, 4, 5, 7, 10, 15, 20, 30, 40, 50, 70, 100, 150, 200, 300, 500, 700, 1000, 2000], [0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000]);
const heights = engraved([1, 1.5, 2, 3, 5, 7, 10, 15, 20, 30, 50, 70, 100, 150, 200, 300], [1, 2, 5, 10, 20, 50, 100, 200]);
const feet = engraved([1.5, 2, 3, 4, 5, 7, 10, 15, 20, 30, 40, 50, 70, 100, 150, 200, 300, 400, 500, 700, 1000, 1500, 2000, 3000, 5000, 7000, 10000], [2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000])
  .map(({ value, name }) => ({ value: 0.3048 * value, name }));

function lengths(low, high, pxPerDouble, marks, more = []) {
  const within = ({ value }) => value >= low && value <= high;
  const metric = { ...doubling(low, high, pxPerDouble, [...marks, ...more]) };
  return { ...metric, get marks() { return inFeet() ? [...feet.filter(within), ...more] : metric.marks; } };
}

/** A lens that bends farther than most, in degrees beyond the ring: typed up to 45°. */
const TYPED = 40;
const sided = (value) => String(Math.abs(value));
const tenth = (value) => Math.round(value * 10) / 10;
/** Three digits of a length as it is told: a turned ring says no more. */
export const three = (value) => { const [size] = unitFor(value); return Number((value / size).toPrecision(3)) * size; };

/** `ends` are written at the left and the right of a barrel that turns both ways. */
export const RINGS = [
  { name: "focus", label: "Focus", kind: distanceKind, barrel: lengths(0.4, 4000, 46, distances, [{ value: 4000, name: "∞" }]), step: times(1.05, 1.3), settle: (v) => (v > 2500 ? Infinity : three(v)), hint: "A click in the picture focuses there" },
  { name: "tilt", label: "Tilt", kind: sideKind("tilt", "not tilted"), barrel: even(-15, 15, -18, sided, 2, 0.5, TYPED), ends: ["down", "up"], step: by(-0.5, -2), rest: 0, settle: tenth },
  { name: "swing", label: "Swing", kind: sideKind("swing", "not swung"), barrel: even(-15, 15, 18, sided, 2, 0.5, TYPED), ends: ["left", "right"], step: by(0.5, 2), rest: 0, settle: tenth },
  {
    name: "f", label: "f-number", kind: stopKind, barrel: doubling(1, 2 ** (30 / 6), 56, stopMarks),
    step: (value, way, large) => 2 ** ((Math.round(6 * Math.log2(value)) + way * (large ? 3 : 1)) / 6),
    settle: (value) => 2 ** (Math.round(6 * Math.log2(value)) / 6),
  },
  { name: "lens", label: "Focal length", kind: lensKind, barrel: doubling(10, 500, 84, lensMarks), step: times(1.02, 1.12), settle: tenth },
  { name: "rise", label: "Rise", kind: sideKind("rise", "no rise"), barrel: even(-20, 20, 12, sided, 4, 1), ends: ["fall", "rise"], step: by(0.5, 2), rest: 0, settle: tenth },
  { name: "shift", label: "Shift sideways", kind: sideKind("shift", "no shift"), barrel: even(-20, 20, 12, sided, 4, 1), ends: ["left", "right"], step: by(0.5, 2), rest: 0, settle: tenth },
];

export const PLACE_RINGS = [
  { name: "height", label: "Lens above ground", kind: heightKind, barrel: lengths(0.5, 400, 58, heights), step: times(1.05, 1.3), settle: three },
  { name: "pitch", label: "Camera looks", kind: pitchKind, barrel: even(-30, 89, 9, sided, 10, 2), ends: ["up", "down"], step: by(0.5, 5), rest: 0, settle: tenth },
];

const quarters = { 0: "N", 90: "E", 180: "S", 270: "W" };
export const WALK_RINGS = [
  {
    name: "heading", label: "Compass heading", kind: headingKind, step: by(1, 10), settle: (v) => Math.round(v),
    barrel: even(-360, 720, 3, (value) => quarters[((value % 360) + 360) % 360] ?? String(((value % 360) + 360) % 360), 30, 10),
  },
  { name: "distance", label: "Away from the subject", kind: heightKind, barrel: lengths(1, 1000, 58, distances.filter(({ value }) => value < 2000)), step: times(1.05, 1.3), settle: three },
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

async function readHere(name, text) {
  const { shot: asked } = shot.state, found = await api.read(asked, name, text);
  if (!shot.samePlace(asked)) throw new api.Stale();
  return { ...found, value: found.value !== null && found.value > 1e5 ? Infinity : found.value };
}

export class Hands {
  constructor(home, abouts, turned) {
    this.rings = new Map();
    for (const about of abouts) {
      const ring = new Ring({
        ...about,
        turned: (value) => turned(about.name, about.kind.write(value)),
        typed: (text) => readHere(about.name, text),
        worded: (words) => turned(about.name, words),
        held: shot.hold,
        released: shot.release,
      });
      this.rings.set(about.name, ring);
      home.append(ring.element);
    }
  }

  /** Follow the shot; where it says nothing a ring can show, follow what the program took. */
  follow(values, told) {
    const reaches = told?.limits ? reach(told) : {};
    const changed = values !== this.followed;
    this.followed = values;
    for (const [name, ring] of this.rings) {
      if (changed) ring.blame("");  // what could not be read has given way to the value that holds
      ring.limit(reaches[name]);
      const words = values[name];
      const plain = words === undefined || words.includes(",") ? null : ring.about.kind.read(words);
      let value = plain;
      const assumed = name === "focus" ? told?.focus_m : told?.[name];
      if (value === null && assumed !== undefined && assumed !== null) value = assumed;
      if (value === null) continue;
      if (name === "focus") {
        // a tilted plane is turned from where it crosses the axis, not from where it was marked
        ring.from = plain === null ? told?.axis_m ?? null : null;
        if (value > 4000) value = Infinity;
      }
      if (value !== ring.value || ring.set !== (words !== undefined)) ring.show(value, words !== undefined, plain === null);
    }
  }

  redraw() {
    for (const ring of this.rings.values()) ring.draw();
  }
}

export function group(home, title, words) {
  const section = make("section", "", "group");
  section.append(make("h3", title));
  if (words) section.append(make("p", words, "hint"));
  home.append(section);
  return section;
}
