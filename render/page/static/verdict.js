// The verdict in words, the same at every stop, what would help, and why.

import { button, make, swap } from "./dialog.js";
import { fieldFor } from "./settings.js";
import * as shot from "./state.js";
import { capital, tied } from "./words.js";

const head = document.getElementById("head");
const strip = document.getElementById("stops");
const home = document.getElementById("details");
let open = false, refit = () => {};
addEventListener("resize", () => refit());

export function verdictAges() {
  for (const part of [head, strip, home]) part.classList.add("old");
}

export function showVerdict(said, { apply, light, guessed = [], put, confirm, draw, judging, asks, fail }) {
  for (const part of [head, home]) part.classList.remove("old");
  if (!said) {
    head.replaceChildren();
    home.replaceChildren();
    strip.replaceChildren();
    refit = () => {};
    return;
  }
  const says = make("p", tied(said.sentence), "says");
  says.append(make("span", ` · ${tied(said.short.split("·").at(-1).trim())}`, "mark"));
  const why = make("p", tied(said.why), "why");
  why.title = said.why;
  const fold = button("Why", () => {
    open = !open;
    for (const [element, on] of [[fold, "expanded"], [made, "hidden"]]) {
      if (on === "hidden") element.hidden = !open;
      else element.ariaExpanded = open;
    }
    document.body.classList.toggle("unfolded", open);
    fitted(said.why);
    made.style.setProperty("--head", `${head.offsetHeight + 8}px`);
    if (open) made.scrollIntoView({ block: "nearest", behavior: "instant" });
  }, "fold");
  fold.dataset.key = "fold";
  fold.ariaExpanded = open;
  fold.setAttribute("aria-controls", "made");
  fold.ariaLabel = "Why this verdict";
  swap(head, says, why, fold);
  const first = said.first ? [{ ...said.first, press: said.first.tool && (() => draw(said.first.tool)) }] : [];
  const useful = said.advice.filter((line) => line.values).slice(0, 3 - first.length);
  const lines = [...first, ...useful];
  const made = parts(said, light, apply, useful, { judging, asks, fail });
  made.hidden = !open;
  document.body.classList.toggle("unfolded", open);
  swap(home, ...[guessed.length ? guess(guessed, put, confirm) : said.near ? near(said.near, () => draw("near"), apply) : null, lines.length ? advice(lines, apply, "What would help") : null, made].filter(Boolean));
  fitted(said.why);
  refit = () => fitted(said.why);
}

/** Of a sentence that has too little room, its last parts wait under Why: none is cut within. */
function fitted(words) {
  const line = head.querySelector(".why");
  const said = words.replace(/\.$/, "").split("; ");
  const last = said.pop();
  for (let count = said.length; count >= 0; count -= 1) {
    line.textContent = tied(`${[...said.slice(0, count), last].join("; ")}.`);
    if (line.scrollHeight <= line.clientHeight + 1) break;
  }
}

/** The same photograph at every stop: a word at each, the one set, and the best. */
export function showStops(stops, apply) {
  strip.classList.remove("old");
  if (!stops?.length) {
    strip.replaceChildren();
    return;
  }
  const cells = stops.map(({ f, word, words, score, now, best }) => {
    const press = button("", () => apply({ f }));
    press.dataset.key = `f${f}`;
    press.className = `stop ${/^(reads|might|sharp)/.test(word) ? "may" : "wont"}${best ? " best" : ""}`;
    if (now) press.ariaCurrent = "true";
    const bar = make("i");
    bar.style.height = `${Math.max(2, score * 0.22)}px`;
    const gauge = make("span", "", "gauge");
    gauge.append(bar);
    press.append(gauge, make("b", `f/${f}`), make("span", word, "word"));
    if (best) press.append(make("span", "best", "word"));
    press.title = `f/${f}: ${words}`;
    press.ariaLabel = `f/${f}: ${words}${best ? ", best" : ""}`;
    return press;
  });
  swap(strip, ...cells);
}

/** Until its owner has said so, a guess is a guess, and so is what is judged from it. */
function guess(guessed, put, confirm) {
  const row = make("div", "", "guess");
  row.append(make("p", tied(`Only guessed so far: ${guessed.join(", ")}. The verdict stands and falls with that.`)));
  row.append(button("Put it right", put), button("It is right", confirm));
  return row;
}

/** What may stand near the lens and was not said: drawn, or said to be nothing. */
function near(asked, draw, apply) {
  const row = make("div", "", "guess near");
  row.append(make("p", tied(capital(asked.words))), button("Draw it", draw), button("Nothing is near", () => apply({ near: ["none"] })));
  return row;
}

/** Lines that can be pressed where the page can show what they make; the others say why not. */
function advice(lines, apply, title) {
  const list = make("ul", "", "advice");
  list.ariaLabel = title;
  for (const line of lines) {
    const item = make("li");
    const words = [make("span", tied(line.sentence)), make("span", [line.gain, line.how].filter(Boolean).join(" · "), "gain")];
    if (line.values || line.press) {
      const press = button("", line.press || (() => apply(line.values)));
      press.append(...words);
      press.title = words.map((part) => part.textContent).join(" · ");
      item.append(press);
    } else {
      item.className = "plain";
      item.append(...words);
    }
    list.append(item);
  }
  return list;
}

function parts(said, light, apply, useful, { judging, asks, fail }) {
  const fold = make("div", "", "made");
  fold.id = "made";
  const list = make("dl", "", "parts");
  for (const part of said.parts) {
    const bar = make("dd", "", part.weakest ? "bar weak" : "bar");
    const fill = document.createElement("i");
    fill.style.width = `${Math.round(100 * part.mark)}%`;
    bar.append(fill);
    bar.ariaHidden = "true";
    list.append(make("dt", part.name + (part.weakest ? " (costs most)" : "")), bar, make("dd", tied(`${Math.round(100 * part.mark)} · ${part.words}`)));
  }
  fold.append(list);
  if (said.telltales.length) {
    fold.append(make("h3", "What gives it away"));
    const tales = make("ol", "", "advice");
    said.telltales.forEach((tale, at) => {
      const item = make("li");
      const press = button("", () => light(at));
      press.append(make("span", tied(`${at + 1}  ${tale.sentence}`)));
      item.append(press);
      tales.append(item);
    });
    fold.append(tales);
  }
  const more = said.advice.filter((line) => !useful.includes(line));
  if (more.length || said.untried) fold.append(make("h3", "What else would help"), advice(more, apply, "What else would help"), ...(said.untried ? [make("p", said.untried, "why")] : []));
  fold.append(make("h3", "In figures"));
  for (const fact of [said.stopping, ...said.facts]) fold.append(make("p", tied(fact), "why"));
  fold.append(judged(asks, judging, fail));
  for (const remark of said.remarks) fold.append(make("p", tied(capital(remark)), "why small"));
  if (said.small_print) fold.append(make("p", said.small_print, "why small"));
  return fold;
}

function judged(asks, { now, set }, fail) {
  const fold = document.createElement("details");
  fold.className = "judging";
  fold.open = Boolean(shot.state.seen.judgingOpen);
  fold.addEventListener("toggle", () => { shot.state.seen.judgingOpen = fold.open; });
  const head = make("summary", "How it is judged"), given = Object.keys(now).length;
  head.dataset.used = given ? `${given} set` : "";
  fold.append(head);
  for (const ask of asks) {
    const { row, follow } = fieldFor(ask, (words) => set({ [ask.name]: words }), fail);
    follow(now[ask.name]);
    fold.append(row);
  }
  return fold;
}
