// The verdict in words; its parts fold out.

import { button, make } from "./dialog.js";

const home = document.getElementById("verdict");
let open = false;
let tallest = 0;

/** Where rings lie below the verdict, they must not move under the finger when it gets shorter. */
function steady() {
  if (!open) tallest = Math.max(tallest, home.offsetHeight);
  home.style.setProperty("--tallest", open ? "0" : `${tallest}px`);
}

function unsteady() {
  tallest = 0;
  home.style.removeProperty("--tallest");
}

addEventListener("resize", unsteady);

export function verdictAges() {
  home.classList.add("old");
}

/** What the program says, in a sentence that does not claim more than is known. */
export function saysWords(said, guessed) {
  if (!guessed.length) return said.sentence;
  return `If the guess is right: ${said.sentence[0].toLowerCase()}${said.sentence.slice(1)}`;
}

/** Show what the program says, or a sentence in its place. */
export function showVerdict(said, { apply, light, guessed = [], put, confirm }) {
  home.classList.remove("old");
  home.replaceChildren();
  if (typeof said === "string") {
    unsteady();
    if (said) home.append(make("p", said, "why"));
    return;
  }
  const head = make("div", "", "head"), words = document.createElement("div");
  words.append(make("p", saysWords(said, guessed), "says"));
  if (said.why) words.append(make("p", said.why, "why"));
  head.append(words);
  home.append(head);
  if (guessed.length) home.append(guess(guessed, put, confirm));
  const useful = said.advice.filter((line) => line.values).slice(0, 3);
  if (useful.length) home.append(advice(useful, apply));
  const made = parts(said, apply, light);
  const fold = button("What it is made of", () => {
    open = !open;
    fold.setAttribute("aria-expanded", open);
    made.hidden = !open;
    steady();
    if (open) made.scrollIntoView({ block: "nearest", behavior: "instant" });
  }, "fold");
  fold.setAttribute("aria-expanded", open);
  fold.setAttribute("aria-controls", "made");
  made.hidden = !open;
  head.append(fold);
  home.append(made);
  steady();
}

/** Until its owner has said so, a guess is a guess, and so is what is judged from it. */
function guess(guessed, put, confirm) {
  const row = make("div", "", "guess");
  row.append(make("p", `Only guessed so far: ${guessed.join(", ")}. The verdict stands and falls with that.`));
  row.append(button("Put it right", put), button("It is right", confirm));
  return row;
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
  const fold = make("div", "", "made");
  fold.id = "made";
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
