// What must be sharp and what soft: the lens is worked out from it.

import * as api from "./api.js";
import { button, inquire, make, selection, swap, textField } from "./dialog.js";
import { group } from "./hands.js";
import { boxMark, lineMark } from "./marks.js";
import * as shot from "./state.js";
import { capital, inFeet, short, tied } from "./words.js";

/** What a drawn wish is for the program. */
const KINDS = { sharp: "point", soft: "soft", row: "row" };
const PLACES = { row: "row", ground: "ground", wall: "wall", face: "face" };
/** Kind, words, an example, and the same in feet. */
const WRITTEN = [
  ["point", "Must be sharp: a point", "12 m, 1.5 m, left 2 m", "40 ft, 5 ft, left 6 ft"],
  ["soft", "Must be soft: a point", "60 m, 3 m", "200 ft, 10 ft"],
  ["row", "A row of things", "20%,80% to 70%,45%"],
  ["ground", "Level ground", "4 m to 60 m", "13 ft to 200 ft"],
  ["wall", "A wall across the view", "4 m to 12 m, 6 m high", "13 ft to 40 ft, 20 ft high"],
  ["face", "A face", "1.2 m, back 20", "4 ft, back 20"],
];

export function buildWish(home, { told, changed, fail }) {
  const about = group(home, "What should be sharp", "Click a point or draw a box in the picture, or write it. The lens is worked out from it.");
  const tools = make("div", "", "tools three");
  let kind = "sharp", drawing = null;
  /** Wishes lie with the shot, and so does what was asked for: undo takes them back, a place that is left keeps them. */
  const held = () => ({ list: [], asked: [], only: false, band: false, move: "both", ...shot.state.shot.wished });
  const wishes = () => held().list;
  const put = (list) => shot.wish({ ...held(), list });
  let adding = Promise.resolve();
  /** A wish is taken once the place is known to answer it; quick ones in turn. */
  const wished = (one, taken) => {
    const { shot: asked } = shot.state;
    adding = adding.then(async () => {
      try {
        await api.heed(asked, one);
        if (!shot.samePlace(asked)) return;
        put([...wishes(), one]);
        taken?.();
      } catch (error) {
        if (shot.samePlace(asked)) fail(error);
      }
    });
  };
  const choices = Object.entries({ sharp: "Must be sharp", soft: "Must be soft", row: "A row" }).map(([name, words]) => {
    const press = button(words, () => { kind = name; which.value = KINDS[name]; follow(); });
    press.dataset.kind = name;
    return press;
  });
  tools.append(...choices);
  const hint = make("p", "", "hint");
  const list = make("ul", "", "list");
  const form = make("form", "", "write");
  const which = selection(WRITTEN), input = textField();
  which.ariaLabel = "What is written";
  input.ariaLabel = "Where it is";
  const shown = () => {
    const [, , metric, imperial = metric] = WRITTEN.find(([name]) => name === which.value);
    input.placeholder = inFeet() ? imperial : metric;
  };
  which.addEventListener("change", shown);
  const add = Object.assign(make("button", "Add"), { type: "submit" });
  form.append(which, input, add);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const words = input.value.trim();
    if (words) wished({ kind: which.value, words }, () => { if (input.value.trim() === words) input.value = ""; });
  });
  const things = make("div", "", "named");
  const only = tick("Everything else soft", "only");
  const band = tick("Also show the band on the centre and on the foreground", "band");
  const move = choice("May be turned", [["both", "tilt and swing"], ["tilt", "tilt alone"], ["swing", "swing alone"]]);
  const solve = button("Work out the lens", work, "strong wide");
  const best = button("Best setting of this lens", search, "wide");
  const answer = make("ul", "", "told");
  answer.role = "status";
  const old = make("p", "This was worked out for the lens before: work it out anew for this one.", "fault");
  old.role = "status";
  old.hidden = true;
  about.append(tools, hint, list, form, things, only.row, band.row, move.row, solve, best, old, answer);
  shown();

  function tick(words, name) {
    const row = make("label", "", "field");
    const box = Object.assign(document.createElement("input"), { type: "checkbox", id: `wish-${name}` });
    row.append(make("span", words), box);
    box.addEventListener("change", () => shot.wish({ ...held(), [name]: box.checked }));
    return { row, box };
  }

  function choice(words, options) {
    const row = make("label", "", "field");
    const select = selection(options);
    row.append(make("span", words), select);
    select.addEventListener("change", () => shot.wish({ ...held(), move: select.value }));
    return { row, select };
  }

  function spot(x, y) {
    const [left, top, wide, high] = told().frame;
    return `${short(100 * (left + x * wide))}%,${short(100 * (top + y * high))}%`;
  }

  function spots(words) {
    const [left, top, wide, high] = told().frame;
    return [...words.matchAll(/(-?[\d.]+)%,(-?[\d.]+)%/g)].map((found) => [(found[1] / 100 - left) / wide, (found[2] / 100 - top) / high]);
  }

  function follow() {
    shown();
    const place = shot.placeOf(shot.state.shot);
    if (answer.dataset.place !== place) {
      answer.dataset.place = place;
      swap(answer);
    }
    old.hidden = !answer.firstChild || (answer.dataset.lens ?? lens()) === lens();
    for (const [name, { box }] of Object.entries({ only, band })) box.checked = held()[name];
    move.select.value = held().move;
    for (const press of choices) press.ariaPressed = press.dataset.kind === kind;
    hint.textContent = kind === "row" ? "Drag a line in the picture along the row, from its first thing to its last." : "";
    hint.hidden = !hint.textContent;
    const rows = wishes().map((one, at) => {
      const item = document.createElement("li");
      const away = button("Remove", () => put(wishes().filter((_, other) => other !== at)));
      const name = one.kind === "point" ? "must be sharp" : one.kind === "soft" ? "must be soft" : one.kind;
      away.ariaLabel = `Remove ${at + 1}, ${name}`;
      item.append(make("span", `${at + 1}  ${name}`), make("span", one.words.includes("%") ? "" : one.words, "muted"), away);
      return item;
    });
    const wanted = JSON.stringify(wishes());
    if (list.dataset.now !== wanted) {
      list.dataset.now = wanted;
      swap(answer);  // it was for other wishes
      swap(list, ...rows);
    }
    const names = told()?.things ?? [];
    if (things.dataset.now !== String(names)) {
      things.dataset.now = String(names);
      swap(things, ...(names.length ? [make("p", "Things with names:", "hint")] : []), ...names.map((name) => button(name, () => wished({ kind: kind === "soft" ? "soft" : "point", words: name }))));
    }
    solve.disabled = !wishes().some((one) => one.kind !== "soft") && !held().band;
  }

  async function work() {
    const things = told()?.things ?? [];
    const named = (one, at) => (things.includes(one.words) ? one.words : `${PLACES[one.kind] ?? "place"} ${at + 1}=${one.words}`);
    const sharp = wishes().map((one, at) => [one.kind, named(one, at)]);
    const checks = (shot.state.shot.values.check ?? []).filter((text) => !held().asked.includes(text));
    delete answer.dataset.lens;  // nothing is worked out yet
    const f = stop();
    const found = await inquire(solve, answer, "Working it out", (asked) => api.solve({ ...asked, values: { ...asked.values, f, check: checks.length ? checks : undefined } }, {
      sharp: sharp.filter(([name]) => name !== "soft"),
      soft: sharp.filter(([name]) => name === "soft").map(([, words]) => words),
      only: held().only,
      band: held().band,
      move: held().move,
    }), fail);
    if (found) {
      const check = found.values.check ?? checks;
      const values = { ...found.values, check: check.length ? check : null };
      const wished = { ...held(), asked: check.filter((text) => !checks.includes(text)), dialled: { f: found.values.f, wished: f } };
      shot.attempt(values, { wished });
      const so = (line) => line.startsWith("So:");
      say([...found.lines.filter(so).map((line) => make("li", tied(line), "says")), ...found.lines.filter((line) => !so(line)).map((line) => make("li", tied(line)))]);
    }
    follow();
  }

  /** The f-number that was wished: what an answer set is no wish. */
  function stop() {
    const { dialled } = held(), { f } = shot.state.shot.values;
    return dialled && f === dialled.f ? dialled.wished : f;
  }

  const lens = () => JSON.stringify(["lens", "lens-file", "format"].map((name) => shot.state.shot.values[name] ?? ""));

  /** What is to be done comes first, and all of it is brought into view. */
  function say(lines) {
    swap(answer, ...lines);
    answer.dataset.lens = lens();  // it is for the lens as it has been set by now
    old.hidden = true;
    answer.scrollIntoView({ block: answer.clientHeight < innerHeight / 2 ? "nearest" : "start", behavior: "instant" });
  }

  /** The same search as `judge` makes: tilt, swing, f-number and focus within the lens's limits. */
  async function search() {
    delete answer.dataset.lens;
    const found = await inquire(best, answer, "Searching", (asked) => api.verdict(asked, { ...asked.judging, best: "true" }), fail);
    if (!found) return;
    const { values } = found.best;
    if (values) shot.attempt(values, values.f && { wished: { ...held(), dialled: { f: values.f, wished: stop() } } });
    say([make("li", tied(capital(found.best.sentence)), "says")]);
  }

  const square = (from, to) => [Math.min(from.x, to.x), Math.min(from.y, to.y), Math.max(from.x, to.x), Math.max(from.y, to.y)];

  return {
    follow,
    click(at) {
      if (kind !== "row") wished({ kind: KINDS[kind], words: spot(at.x, at.y) });
    },
    grip(from) {
      return {
        move(to) { drawing = [from, to]; changed(); },
        end(to) {
          drawing = null;
          const [l, t, r, b] = square(from, to);
          const words = kind === "row" ? `${spot(from.x, from.y)} to ${spot(to.x, to.y)}` : `${spot(l, t)},${spot(r, b)}`;
          wished({ kind: KINDS[kind], words });
        },
        cancel() { drawing = null; changed(); },
      };
    },
    marks() {
      const marks = wishes().map((one, at) => mark(spots(one.words), one.kind, `${at + 1} ${one.kind === "point" ? "sharp" : one.kind}`)).filter(Boolean);
      if (drawing) marks.push(mark([[drawing[0].x, drawing[0].y], [drawing[1].x, drawing[1].y]], KINDS[kind], kind));
      return marks;
    },
  };
}

function mark(places, kind, words) {
  if (!places.length) return null;
  const style = kind === "soft" ? "soft" : "sharp";
  if (places.length === 1) {
    const [[x, y]] = places;
    return boxMark([x - 0.008, y - 0.012, x + 0.008, y + 0.012], style, words);
  }
  const [[ax, ay], [bx, by]] = places;
  return kind === "row" ? lineMark(places, "", false, words) : boxMark([Math.min(ax, bx), Math.min(ay, by), Math.max(ax, bx), Math.max(ay, by)], style, words);
}

