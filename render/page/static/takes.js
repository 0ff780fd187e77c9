// What can be saved or printed: made by the program, with progress and a way to stop it.

import * as api from "./api.js";
import { button, make, openDialog, selection } from "./dialog.js";
import { papers } from "./open.js";
import { fieldFor } from "./settings.js";
import { keepNow, placeOf, state } from "./state.js";

/** What is answered of whoever works here; all else is about one place, and goes with it. */
const OWN = new Set(["ending", "by", "logo", "paper", "orientation", "cell", "sensor-px", "megapixels", "iso", "fps", "codec"]);

/**
 * @param {object[]} kinds what the program makes: kind, title, about, endings, asks, group
 * @param {(kind: string) => object[]} shots of which it is made
 * @param {object} known what is known of the shot without asking: `light_known`, what tells the light, or ""
 * @param {object} given answers to begin with, by kind
 */
export function openTakes(kinds, shots, known, judging, given = {}) {
  const place = placeOf(state.shot), { answered } = state.seen;
  // what was answered last, by kind: nobody writes a name twice, also after a reload
  const answers = answered?.answers ?? {};
  const stays = ([name, words]) => (name === "logo" ? words in papers : answered.place === place || OWN.has(name));
  for (const kind of Object.keys(answers)) answers[kind] = Object.fromEntries(Object.entries(answers[kind]).filter(stays));
  state.seen.answered = { place, answers };
  for (const [kind, words] of Object.entries(given)) answers[kind] = Object.fromEntries(Object.entries({ ...answers[kind], ...words }).filter(([, said]) => said !== null));
  const { body } = openDialog("Save or print");
  for (const group of [...new Set(kinds.map((kind) => kind.group))]) {
    const list = make("ul", "", "takes");
    list.append(...kinds.filter((kind) => kind.group === group).map((kind) => row(kind, answers, shots, known, judging)));
    body.append(make("h3", group), list);
  }
}

function row(thing, answers, shots, known, judging) {
  const { kind, title, about, endings, asks } = thing;
  const item = make("li");
  const given = (answers[kind] ??= {});
  const save = button("Save", () => take(item, save, kind, shots(kind), { ...given }, judging));
  save.ariaLabel = `Save: ${title}`;
  const small = make("p", about);
  const needs = (ask) => ask.needed === "light" && !known.light_known;
  const asked = (ask) => ask.needed !== "light" ? ask : {
    ...ask,
    label: needs(ask) ? `${ask.label} (needed)` : ask.label,
    choices: [["", known.light_known || "choose one"], ...ask.choices.slice(1)],
  };
  const lacks = make("p", "", "lacks");
  lacks.id = `lacks-${kind}`;
  item.append(make("h4", title), save, small);
  if (asks.some(needs)) {
    item.append(lacks);
    save.setAttribute("aria-describedby", lacks.id);
  }
  if (endings.length > 1) {
    const choice = selection(endings);
    choice.ariaLabel = `${title}: kind of file`;
    choice.value = given.ending ?? endings[0][0];
    choice.addEventListener("change", () => { given.ending = choice.value; });
    given.ending = choice.value;
    item.insertBefore(choice, save);
  }
  const fields = asks.map((ask) => {
    const hand = fieldFor(asked(ask), (words) => {
      if (words === null) delete given[ask.name];
      else given[ask.name] = words;
      hand.follow(given[ask.name]);
      keepNow();
      ready();
    }, (sentence) => { small.textContent = sentence; });
    hand.follow(given[ask.name]);
    return hand;
  });
  const first = fields.filter(({ key }) => key.first || needs(key)), rest = fields.filter((one) => !first.includes(one));
  const line = make("div", "", "asks");
  line.append(...first.map((one) => one.row));
  if (first.length) item.append(line);
  if (rest.length) {
    const fold = make("details", "", "asks");
    fold.append(make("summary", "More choices"), ...rest.map((one) => one.row));
    item.append(fold);
  }
  function ready() {
    const lacking = asks.find((ask) => needs(ask) && !given[ask.name]);
    save.disabled = Boolean(lacking);
    lacks.textContent = lacking ? `Before it can be saved, choose: ${lacking.label}.` : "";
    lacks.hidden = !lacking;
  }
  ready();
  return item;
}

async function take(item, save, kind, shots, options, judging) {
  item.querySelector(".progress")?.remove();
  const line = make("div", "", "progress");
  const bar = document.createElement("progress");
  bar.max = 1;
  bar.ariaLabel = "How far it is";
  const says = make("span", "starting");
  says.role = "status";
  line.append(bar, says);
  item.append(line);
  save.disabled = true;
  try {
    const { id } = await api.save(kind, shots, options, judging);
    const stop = button("Stop", () => api.stop(id));
    line.append(stop);
    await follow(id, bar, says);
    const held = document.activeElement === stop;
    stop.remove();
    save.disabled = false;
    if (held) save.focus();
  } catch (error) {
    bar.remove();
    line.querySelector("button")?.remove();
    says.textContent = error.message;
    says.role = "alert";
  } finally {
    save.disabled = false;
  }
}

async function follow(id, bar, says) {
  for (;;) {
    const at = await api.saved(id);
    bar.value = at.share;
    says.textContent = at.what;
    if (at.problem) throw new Error(at.problem === "stopped" ? "Stopped; nothing was saved." : at.problem);
    if (at.done) {
      says.textContent = `Saved as ${at.name}`;
      const link = document.createElement("a");
      link.href = api.savedAddress(id);
      link.download = at.name;
      link.click();
      return;
    }
    await new Promise((rest) => setTimeout(rest, 200));
  }
}
