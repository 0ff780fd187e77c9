// The verdict in words; its parts fold out.

import { button, make } from "./dialog.js";

const home = document.getElementById("verdict");
let open = false;

export function verdictAges() {
  home.classList.add("old");
}

/** Show what the program says, or a sentence in its place. */
export function showVerdict(said, { apply, light }) {
  home.classList.remove("old");
  home.replaceChildren();
  if (typeof said === "string") {
    if (said) home.append(make("p", said, "why"));
    return;
  }
  home.append(make("p", said.sentence, "says"));
  if (said.why) home.append(make("p", said.why, "why"));
  const useful = said.advice.filter((line) => line.values).slice(0, 3);
  if (useful.length) home.append(advice(useful, apply));
  home.append(parts(said, apply, light));
}

function advice(lines, apply) {
  const list = make("ul", "", "advice");
  for (const line of lines) {
    const item = document.createElement("li");
    if (line.values) {
      const press = button("", () => apply(line.values));
      press.append(make("span", line.sentence), make("span", line.gain, "gain"));
      item.append(press);
    } else item.append(make("p", line.sentence, "why"));
    list.append(item);
  }
  return list;
}

function parts(said, apply, light) {
  const fold = document.createElement("details");
  fold.open = open;
  fold.addEventListener("toggle", () => { open = fold.open; });
  fold.append(make("summary", "What it is made of"));
  const list = make("dl", "", "parts");
  for (const part of said.parts) {
    const bar = make("dd", "", part.weakest ? "bar weak" : "bar");
    const fill = document.createElement("i");
    fill.style.width = `${Math.round(100 * part.mark)}%`;
    bar.append(fill);
    bar.setAttribute("aria-hidden", "true");
    list.append(make("dt", part.name + (part.weakest ? " (weakest)" : "")), bar, make("dd", `${Math.round(100 * part.mark)} · ${part.words}`));
  }
  fold.append(list);
  if (said.telltales.length) {
    fold.append(make("h3", "What gives it away"));
    const tales = make("ol", "", "advice");
    said.telltales.forEach((tale, at) => {
      const item = document.createElement("li");
      const press = button("", () => light(at));
      press.append(make("span", `${at + 1}  ${tale.sentence}`));
      item.append(press);
      tales.append(item);
    });
    fold.append(tales);
  }
  const more = said.advice.filter((line) => !line.values || said.advice.filter((other) => other.values).indexOf(line) > 2);
  if (more.length) fold.append(make("h3", "What else would help"), advice(more, apply));
  for (const remark of said.remarks) fold.append(make("p", `${remark[0].toUpperCase()}${remark.slice(1)}`, "why small"));
  if (said.small_print) fold.append(make("p", said.small_print, "why small"));
  return fold;
}
