// What is drawn over the picture. Places come as shares of what is shown.

const SVG = "http://www.w3.org/2000/svg";

export function draw(parent, tag, attributes, text) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  if (text !== undefined) element.textContent = text;
  parent.append(element);
  return element;
}

/** A line that reads on anything: cased in black, white over it. */
export function cased(svg, d, kind = "") {
  draw(svg, "path", { class: "mark cased", d });
  draw(svg, "path", { class: `mark bright ${kind}`, d });
}

let plates = [];

/** A word on a plate, kept inside the picture; one `about` a small thing lies beside it, wherever there is room. */
function plate(svg, x, y, words, width, height, { outside = false, about = null } = {}) {
  plates.push({ svg, x, y, words, width, height, outside, about });
}

const PLATE = 21;
const shared = (a, b) => Math.max(0, Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x)) * Math.max(0, Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y));

export function layPlates() {
  const taken = plates.map(({ about }) => about).filter(Boolean);
  for (const one of [...plates.filter(({ about }) => !about), ...plates.filter(({ about }) => about)]) {
    const { svg, words, width, height, outside, about } = one;
    const group = draw(svg, "g", {});
    const text = draw(group, "text", { class: "plate-text", x: 0, y: 0 }, words);
    const long = text.getBBox().width + 12;
    const within = ([x, y]) => ({ x: Math.max(4, Math.min(x, width - long - 4)), y: Math.max(outside ? -9999 : 4, Math.min(y, height - PLATE - 3)), width: long, height: PLATE });
    const places = [[one.x, one.y], ...beside(about ?? { x: one.x, y: one.y, width: long, height: PLATE }, long)].map(within);
    const covers = (place) => taken.reduce((sum, other) => sum + shared(place, other), 0);
    const at = places.reduce((best, place) => (covers(place) < covers(best) ? place : best));
    taken.push(at);
    draw(group, "rect", { class: "plate", ...at, rx: 2 });
    text.setAttribute("x", at.x + 6);
    text.setAttribute("y", at.y + 15);
    group.append(text);
  }
  plates = [];
}

function beside({ x, y, width, height }, long) {
  const lefts = [x + width + 4, x + width / 2 - long / 2, x - long - 4], tops = [0, -1, 1, -2, 2].map((row) => y + height / 2 - PLATE / 2 + row * (Math.max(PLATE, height) + 4));
  return tops.flatMap((top, row) => lefts.filter((_, at) => row || at !== 1).map((left) => [left, top]));
}

export function focusMark(spot, words) {
  return (svg, width, height) => {
    const x = spot[0] * width, y = spot[1] * height;
    if (x < -20 || y < -20 || x > width + 20 || y > height + 20) return;
    cased(svg, `M${x - 22} ${y}h14M${x + 8} ${y}h14M${x} ${y - 22}v14M${x} ${y + 8}v14`);
    plate(svg, x + 16, y + 12, words, width, height, { about: { x: x - 12, y: y - 12, width: 24, height: 24 } });
  };
}

/** The horizon; where it can be dragged also over the picture, as far as there is `room`. */
export function horizonMark(share, grip, room = 0) {
  return (svg, width, height) => {
    const least = -room * height + 6;
    if (!grip && (share < 0 || share > 1)) return;
    const y = Math.max(least, Math.min(share * height, height - 2)), beyond = y !== share * height;
    cased(svg, `M0 ${y}H${width}`, "dashed");
    const where = share < 0 ? `${Math.round(-100 * share)} % of the height above the picture` : "below the picture";
    const words = beyond || share < 0 ? `horizon: ${where}; drag it` : width < 500 ? "horizon: drag it" : "horizon: drag it to where level ground would end";
    plate(svg, 12, y + 6, grip ? words : "horizon", width, height, { outside: grip });
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
export function bandMark(regions, moved = 0) {
  return (over, width, height) => {
    const svg = draw(over, "g", { transform: `translate(0 ${(moved * height).toFixed(1)})` });
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

/** What gives it away, numbered; kept inside the picture. */
export function tellMarks(tales) {
  return (svg, width, height) => {
    const defs = draw(svg, "defs", {});
    const clip = draw(defs, "clipPath", { id: "within" });
    draw(clip, "rect", { x: 0, y: 0, width, height });
    tales.forEach(({ x, y, radius, lit }, at) => {
      const r = Math.min(Math.max(14, (radius ?? 0) * height), 0.35 * height);
      for (const kind of ["mark cased", lit ? "tale lit" : "tale"]) draw(svg, "circle", { class: kind, cx: x * width, cy: y * height, r, "clip-path": "url(#within)" });
      plate(svg, x * width + r * 0.7 + 2, y * height - r * 0.7 - 21, String(at + 1), width, height);
    });
  };
}

/** Boxes drawn by hand: what must be sharp has solid edges, what must be soft dashed ones. */
export function boxMark(box, kind, words) {
  return (svg, width, height) => {
    const at = { x: box[0] * width, y: box[1] * height, width: (box[2] - box[0]) * width, height: (box[3] - box[1]) * height };
    draw(svg, "rect", { class: "mark cased", ...at });
    draw(svg, "rect", { class: `wish ${kind}`, ...at });
    const small = at.width < 120 || at.height < 3 * PLATE;
    plate(svg, at.x + (small ? at.width : 0) + 4, at.y + 4, words, width, height, { about: small ? at : null });
  };
}

export function lineMark(points, kind, closed, words = "") {
  return (svg, width, height) => {
    if (!points.length) return;
    const d = `M${points.map(([x, y]) => `${x * width} ${y * height}`).join("L")}${closed ? "Z" : ""}`;
    cased(svg, d, kind);
    if (words) plate(svg, points[0][0] * width + 6, points[0][1] * height + 4, words, width, height);
  };
}

export function spotMark([x, y], words) {
  return (svg, width, height) => {
    draw(svg, "circle", { class: "spot", cx: x * width, cy: y * height, r: 5 });
    if (words) plate(svg, x * width + 8, y * height - 10, words, width, height);
  };
}
