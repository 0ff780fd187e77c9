// What is known of things in the picture: distances, standing things, walls, uprights, the sky.

import * as api from "./api.js";
import { ask, button, make, selection, swap } from "./dialog.js";
import { group } from "./hands.js";
import { lineMark, spotMark } from "./marks.js";
import * as shot from "./state.js";
import { bareUnit, heightKind, inFeet, short, spotWords } from "./words.js";

/** Name of the value, what it is called, how it is set; `line` is drawn from end to end. */
const TOOLS = [
  ["mark", "Known distance", "Click a spot whose distance you know."],
  ["thing", "Standing thing", "Click something that stands on the ground: its outline is found. Or draw round it."],
  ["wall-foot", "Wall", "Draw along the foot of a wall, from end to end."],
  ["sky", "Sky", "Draw round the sky, where its colour does not tell."],
  ["near", "Near thing", "Draw along a rail, post, branch or parapet that stands near the lens, then say how far away it is."],
  ["ground-mark", "Ground distance", "Click two spots or more on level ground whose distances you know, in place of height and horizon."],
  ["upright", "Upright", "Draw from foot to top of something upright whose height you know, twice or more, in place of height and horizon."],
];
const lengthLabel = (more) => (inFeet() ? `Feet, or with m, ${more}` : `Metres, or with ft, ${more}`);
const lengthFault = () => `Write ${inFeet() ? "feet, or with in, yd, mi, m, km, cm" : "metres, or with km, cm, ft, in, yd, mi"} or storeys: "12 m", "40 ft", "4 storeys"`;
const MOST_CLICKED = 60;
const MEASURED = [["range", "by rangefinder"], ["map", "on a map"], ["", "along the camera's axis"]];

const percent = (share) => `${short(100 * share)}%`;
const spot = ({ x, y }) => `${percent(x)},${percent(y)}`;
const places = (text) => [...text.matchAll(/(-?[\d.]+)%,(-?[\d.]+)%/g)].map((found) => [found[1] / 100, found[2] / 100]);
const lasso = (name) => name === "thing" || name === "sky" || name === "near";
const line = (name) => name === "wall-foot" || name === "upright";

const length = (text) => (heightKind.read(text) === null ? null : /[a-z'’′"”″]/i.test(text) ? text : `${text} ${bareUnit()}`);

export function buildFinds(home, { changed, picked, fail }) {
  const section = group(home, "What stands there");
  const tools = make("div", "", "tools");
  const hint = Object.assign(make("p", "", "hint"), { role: "status" });
  const list = make("ul", "", "list");
  let tool = "", drawing = null, values = {}, foot = null, mending = null, about = "";
  /** The spots by which an outline was found, by its corners; a reload brings them back. */
  const clicks = {
    get: (corners) => shot.state.seen.clicks?.[corners],
    set(corners, spots) {
      shot.see({ clicks: shot.withLast(shot.state.seen.clicks ?? {}, corners, spots, MOST_CLICKED) });
    },
  };
  const cornersOf = (text) => text.match(/(-?[\d.]+%,-?[\d.]+%\s*)+/)?.[0].trim() ?? "";
  const presses = TOOLS.map(([name, words]) => {
    const press = button(words, () => pick(tool === name ? "" : name));
    press.dataset.tool = name;
    return press;
  });
  tools.append(...presses);
  const sky = selection([["", "The sky: by the horizon"], ["top", "The sky: by its colour"], ["none", "The sky: none"]]);
  sky.ariaLabel = "The sky";
  sky.className = "wide";
  sky.addEventListener("change", () => shot.attempt({ sky: sky.value || null }));
  section.append(tools, hint, list, sky);

  const all = (name) => { const found = values[name]; return found === undefined ? [] : Array.isArray(found) ? found : [found]; };
  const add = (name, text) => shot.attempt({ [name]: [...all(name), text] });
  const change = (name, at, text) => shot.attempt({ [name]: all(name).map((old, other) => (other === at ? text : old)) });

  function pick(name) {
    tool = name;
    foot = mending = null;
    hint.textContent = TOOLS.find(([one]) => one === name)?.[2] ?? "";
    picked(name);
    show();
  }

  function show() {
    for (const press of presses) press.ariaPressed = press.dataset.tool === tool;
    const now = JSON.stringify([tool, foot, mending, values]);
    if (now === about) return;
    about = now;
    const rows = [];
    for (const [name, words] of TOOLS) {
      if (name === "sky") continue;
      all(name).forEach((text, at) => rows.push(row(name, words, text, at)));
    }
    swap(list, ...rows);
    for (const old of [...sky.options].slice(3)) old.remove();
    if (values.sky && !["top", "none"].includes(values.sky)) sky.append(new Option("The sky: as drawn", values.sky));
    sky.value = values.sky ?? "";
  }

  function row(name, words, text, at) {
    const item = document.createElement("li");
    const away = button("Remove", () => {
      const rest = all(name).filter((_, other) => other !== at);
      shot.turn({ [name]: rest.length ? rest : null });
    });
    away.ariaLabel = `Remove ${words} ${at + 1}`;
    item.append(make("span", `${words} ${at + 1}`));
    const more = make("span", "", "more");
    if (name === "thing") {
      if (clicks.get(cornersOf(text))) {
        for (const [way, label, words] of [["more", "Add", "Click a part that belongs to it too."], ["less", "Take away", "Click a part that does not belong to it."]]) {
          const mend = button(label, () => { foot = null; mending = { at, way }; tool = "thing"; hint.textContent = words; picked("thing"); show(); });
          mend.ariaPressed = mending?.at === at && mending.way === way;
          mend.ariaLabel = way === "more" ? `Add a part to thing ${at + 1}` : `Take a part away from thing ${at + 1}`;
          more.append(mend);
        }
      }
      const press = button("Foot", () => { mending = null; foot = at; tool = "thing"; hint.textContent = "Click where it meets the ground."; picked("thing"); show(); });
      press.ariaPressed = foot === at;
      press.ariaLabel = `Set the foot of thing ${at + 1}`;
      more.append(press);
      const far = / at (.+?)( flat)?$/.exec(text)?.[1];
      const distance = button(far ?? "Distance", () => ask("How far away is it?", [{ name: "m", label: lengthLabel("yd"), value: far ?? "", empty: "from its foot" }], "Set this distance", ({ m }) => {
        if (m && length(m) === null) return lengthFault();
        const flat = text.endsWith(" flat") ? " flat" : "", bare = text.replace(/ at .+$/, "").replace(/ flat$/, "");
        change("thing", at, `${bare}${m ? ` at ${length(m)}` : ""}${flat}`);
        return "";
      }));
      distance.ariaLabel = `Distance of thing ${at + 1}${far ? `: ${far}` : ""}`;
      more.append(distance);
    } else if (name === "wall-foot") {
      const high = / high (.+)$/.exec(text)?.[1];
      const press = button(high ? `${high} high` : "Height", () => ask("How high is the wall?", [{ name: "m", label: lengthLabel("storeys"), value: high ?? "", empty: "without an end" }], "Set this height", ({ m }) => {
        if (m && length(m) === null) return lengthFault();
        change(name, at, `${text.replace(/ high .+$/, "")}${m ? ` high ${length(m)}` : ""}`);
        return "";
      }));
      press.ariaLabel = `Height of wall ${at + 1}`;
      more.append(press);
    } else more.append(make("span", text.replace(/(-?[\d.]+%,-?[\d.]+%\s*)+/, ""), "muted"));
    item.append(more, away);
    return item;
  }

  function askDistance(name, at) {
    const fields = [{ name: "m", label: lengthLabel("yd") }, { name: "how", label: "Measured", options: MEASURED, value: "range" }];
    ask("How far away is that?", fields, "Set this distance", ({ m, how }) => {
      if (length(m) === null) return lengthFault();
      add(name, `${spot(at)} ${length(m)} ${how}`.trim());
      return "";
    });
  }

  /** Find the outline of the thing at a spot, or find it anew with one more spot in or outside. */
  async function find(at) {
    const { shot: asked } = shot.state;
    const old = mending && all("thing")[mending.at], was = old && clicks.get(cornersOf(old));
    const spots = was ? { ...was, [mending.way]: [...was[mending.way], [at.x, at.y]] } : { x: at.x, y: at.y, more: [], less: [] };
    let unsure = "";
    try {
      const { corners, doubt } = await api.outline(asked, spots);
      if (!shot.samePlace(asked)) return;
      clicks.set(corners.join(" "), spots);
      if (doubt) unsure = `See what was outlined: ${doubt}. Mend it in the list, or draw round the thing.`;
      if (was) change("thing", mending.at, old.replace(cornersOf(old), corners.join(" ")));
      else add("thing", `outline ${corners.join(" ")}`);
    } catch (error) {
      fail(error);
    }
    if (mending) {
      mending = null;
      hint.textContent = "";
      show();
    }
    if (unsure) hint.textContent = unsure;
  }

  function drawn(name, points) {
    if (name === "near") {
      const along = thinned(points, 0.004).map(([x, y]) => spot({ x, y })).join(" ");
      ask("How far away is it, about?", [{ name: "m", label: lengthLabel("yd") }], "Set this distance", ({ m }) => {
        if (length(m) === null) return lengthFault();
        shot.attempt({ near: [...all("near").filter((text) => text !== "none"), `${along} ${length(m)}`] });
        return "";
      });
      return;
    }
    const corners = thinned(points, 0.004).map(([x, y]) => spot({ x, y }));
    hint.textContent = corners.length < 3 ? "That is a line: draw all round it." : "";
    if (corners.length < 3) return;
    if (name === "sky") shot.attempt({ sky: corners.join(" ") });
    else add("thing", `outline ${corners.join(" ")}`);
  }

  function lined(name, from, to) {
    const text = `${spotWords(from.x, from.y)} ${spotWords(to.x, to.y)}`;
    if (name === "wall-foot") add(name, text);
    else {
      ask("How high is it?", [{ name: "m", label: lengthLabel("storeys") }], "Set this height", ({ m }) => {
        if (length(m) === null) return lengthFault();
        add(name, `${text} ${length(m)}`);
        return "";
      });
    }
  }

  return {
    pick,
    follow(picture, given) {
      section.hidden = !picture;
      values = given;
      show();
    },
    put() { if (tool) pick(""); },
    click(at) {
      if (all("thing")[foot] !== undefined) {
        const text = all("thing")[foot], where = ` foot ${spot(at)}`;
        const bare = text.replace(/ foot \S+/, ""), behind = / (at |flat)/.exec(bare)?.index ?? bare.length;
        change("thing", foot, bare.slice(0, behind) + where + bare.slice(behind));
        foot = null;
        hint.textContent = "";
        show();
      } else if (tool === "mark" || tool === "ground-mark") askDistance(tool, at);
      else if (tool === "thing") find(at);
    },
    grip(from) {
      if (!lasso(tool) && !line(tool)) return null;
      const name = tool;
      return {
        begin() { drawing = { name, points: [[from.x, from.y]], from, to: from }; },
        move(to) {
          drawing.to = to;
          const [x, y] = drawing.points.at(-1);
          if (Math.hypot(to.x - x, to.y - y) > 0.003) drawing.points.push([to.x, to.y]);
          changed();
        },
        end(to) {
          const { points } = drawing;
          drawing = null;
          if (lasso(name)) drawn(name, points);
          else if (Math.hypot(to.x - from.x, to.y - from.y) > 0.01) lined(name, from, to);
          changed();
        },
        cancel() { drawing = null; changed(); },
      };
    },
    marks() {
      const marks = [];
      for (const name of ["mark", "ground-mark"]) all(name).forEach((text, at) => {
        const [place] = places(text);
        if (place) marks.push(spotMark(place, `${at + 1}: ${text.split(" ").slice(1).join(" ")}`));
      });
      all("thing").forEach((text, at) => {
        const [shape] = / (foot|at|flat)\b/.exec(text) ? [text.slice(0, / (foot|at|flat)\b/.exec(text).index)] : [text];
        const found = places(shape), words = `thing ${at + 1}`;
        if (shape.startsWith("box") && found.length > 1) {
          const [[l, t], [r, b]] = found;
          marks.push(lineMark([[l, t], [r, t], [r, b], [l, b]], "", true, words));
        } else if (found.length > 2) marks.push(lineMark(found, "", true, words));
        else if (found.length) marks.push(spotMark(found[0], words));
        const where = / foot (\S+)/.exec(text);
        if (where) marks.push(spotMark(places(where[1])[0], "foot"));
      });
      for (const name of ["wall-foot", "upright", "near"]) all(name).filter((text) => text.includes("%")).forEach((text) => marks.push(lineMark(places(text), "", false)));
      if (tool === "sky" && values.sky?.includes("%")) marks.push(lineMark(places(values.sky), "dashed", true, "sky"));
      if (drawing) marks.push(lasso(drawing.name) ? lineMark(drawing.points, "", false) : lineMark([[drawing.from.x, drawing.from.y], [drawing.to.x, drawing.to.y]], "", false));
      return marks;
    },
  };
}

/** A drawn line with as few corners as follow it (Douglas and Peucker 1973), at most 48. */
function thinned(points, slack) {
  const kept = (from, to) => {
    let far = slack, at = -1;
    const [[ax, ay], [bx, by]] = [points[from], points[to]];
    const size = Math.hypot(bx - ax, by - ay) || 1e-9;
    for (let i = from + 1; i < to; i += 1) {
      const [x, y] = points[i];
      const away = size < 1e-6 ? Math.hypot(x - ax, y - ay) : Math.abs((bx - ax) * (ay - y) - (ax - x) * (by - ay)) / size;
      if (away > far) [far, at] = [away, i];
    }
    return at < 0 ? [points[from]] : [...kept(from, at), ...kept(at, to)];
  };
  const found = points.length < 3 ? points : [...kept(0, points.length - 1), points.at(-1)];
  return found.length > 48 ? thinned(points, slack * 1.5) : found;
}

