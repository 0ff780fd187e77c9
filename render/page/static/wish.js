// "Only this sharp": what must be sharp and what must be soft, drawn in the picture.

import * as api from "./api.js";
import { button, make } from "./dialog.js";
import { group } from "./hands.js";
import * as shot from "./state.js";
import { boxMark } from "./view.js";
import { short } from "./words.js";

const NAMES = { sharp: "sharp", soft: "soft" };

export function buildWish(home, { told, changed, trouble }) {
  const about = group(home, "What should be sharp", "Click a point or draw a box in the picture; the lens is worked out from them.");
  const tools = make("div", "", "tools");
  let kind = "sharp", boxes = [], drawing = null;
  const choices = Object.entries({ sharp: "Must be sharp", soft: "Must be soft" }).map(([name, words]) => {
    const press = button(words, () => { kind = name; follow(); });
    press.dataset.kind = name;
    return press;
  });
  tools.append(...choices);
  const list = make("ul", "", "list");
  const only = document.createElement("label");
  only.className = "field";
  only.innerHTML = `<span>Everything else soft</span><input type="checkbox" id="wish-only">`;
  const solve = button("Work out the lens", work, "strong wide");
  const answer = make("ul", "", "told");
  answer.setAttribute("role", "status");
  about.append(tools, list, only, solve, answer);

  /** Places of the frame as places of the whole picture, in words. */
  function words([left, top, right, bottom]) {
    const [x, y, wide, high] = told().frame;
    const at = (share, start, size) => `${short(100 * (start + share * size))}%`;
    const first = `${at(left, x, wide)},${at(top, y, high)}`;
    return left === right && top === bottom ? first : `${first},${at(right, x, wide)},${at(bottom, y, high)}`;
  }

  function follow() {
    for (const press of choices) press.setAttribute("aria-pressed", press.dataset.kind === kind);
    list.replaceChildren(...boxes.map((one, at) => {
      const item = document.createElement("li");
      const away = button("Remove", () => { boxes = boxes.filter((other) => other !== one); changed(); });
      away.setAttribute("aria-label", `Remove ${NAMES[one.kind]} ${at + 1}`);
      item.append(make("span", String(at + 1)), make("span", one.kind === "sharp" ? "must be sharp" : "must be soft"), away);
      return item;
    }));
    solve.disabled = !boxes.some((one) => one.kind === "sharp");
  }

  async function work() {
    solve.disabled = true;
    answer.replaceChildren(make("li", "Working it out"));
    const named = (wanted) => boxes.map((one, at) => ({ ...one, at })).filter((one) => one.kind === wanted).map((one) => `${one.at + 1}=${words(one.box)}`);
    try {
      const found = await api.solve(shot.state.shot, { sharp: named("sharp"), soft: named("soft"), only: only.querySelector("input").checked });
      shot.turn(found.values);
      answer.replaceChildren(...found.lines.map((line) => make("li", line)));
    } catch (error) {
      answer.replaceChildren();
      if (!(error instanceof api.Stale)) trouble(error.message);
    }
    follow();
  }

  const square = (from, to) => [Math.min(from.x, to.x), Math.min(from.y, to.y), Math.max(from.x, to.x), Math.max(from.y, to.y)];

  return {
    follow,
    click(at) {
      boxes.push({ kind, box: [at.x, at.y, at.x, at.y] });
      changed();
    },
    grip(from) {
      return {
        move(to) { drawing = square(from, to); changed(); },
        end(to) {
          drawing = null;
          boxes.push({ kind, box: square(from, to) });
          changed();
        },
      };
    },
    marks() {
      const all = boxes.map((one, at) => boxMark(grown(one.box), one.kind, `${at + 1} ${NAMES[one.kind]}`));
      if (drawing) all.push(boxMark(drawing, kind, NAMES[kind]));
      return all;
    },
  };
}

/** A point is drawn as a small box. */
function grown([left, top, right, bottom]) {
  return left === right ? [left - 0.008, top - 0.012, right + 0.008, bottom + 0.012] : [left, top, right, bottom];
}
