// What is taken away: made by the program, with progress and a way to stop it.

import * as api from "./api.js";
import { button, make, openDialog } from "./dialog.js";

const THINGS = [
  ["photograph", "The photograph, full size", "As the lens would take it, in the picture's own size and colours.", [["jpg", "JPEG"], ["tif", "TIFF, 16 bit"]]],
  ["exact", "The photograph, every ray traced", "The exact lens, for invented places only; it takes minutes and can be stopped.", [["jpg", "JPEG"], ["tif", "TIFF, 16 bit"]]],
  ["shown", "Before, blur map, after", "Side by side in one picture."],
  ["stops", "Stop sheet", "One place at every whole stop, side by side."],
  ["grid", "Setting grid", "Tilt by f-number on one sheet."],
  ["board", "Client's board", "One page: the picture, the place as it is, what is pinned, three plain sentences.", null, [["title", "Title"], ["by", "Your name"]]],
  ["section", "Side section", "Camera, plane of sharp focus, hinge line and ground, to scale."],
  ["card", "Field card", "What to dial in on site, in the order of doing, with cautions first.", null, [
    ["weather", "Light", ["as in the picture", "sun", "hazy sun", "bright cloud", "overcast", "open shade", "snow or sand"]],
    ["place", "You stand", ["somewhere", "ground", "window", "roof", "drone"]],
  ]],
  ["shot", "Shot file", "Every setting in plain words, to open again or repeat by command."],
];

export function openTakes(made, shots) {
  const { body } = openDialog("Take away");
  const list = make("ul", "", "takes");
  for (const thing of THINGS.filter(([kind]) => made.includes(kind))) list.append(row(thing, shots));
  body.append(list);
}

function row([kind, title, about, endings, texts], shots) {
  const item = document.createElement("li");
  const words = make("h3", title);
  const save = button("Save", () => {});
  const small = make("p", about);
  item.append(words, save, small);
  let choice = null;
  if (endings) {
    choice = document.createElement("select");
    choice.setAttribute("aria-label", `${title}: kind of file`);
    for (const [value, name] of endings) choice.append(new Option(name, value));
    small.append(" ", choice);
  }
  const fields = (texts ?? []).map(([name, label, options]) => {
    const box = document.createElement(options ? "select" : "input");
    for (const [at, words] of (options ?? []).entries()) box.append(new Option(at ? words : `${label}: ${words}`, at ? words : ""));
    if (!options) {
      box.type = "text";
      box.maxLength = 80;
      box.placeholder = label;
    }
    box.value = sessionStorage.getItem(`take-${name}`) ?? "";
    box.setAttribute("aria-label", `${title}: ${label}`);
    box.addEventListener("change", () => sessionStorage.setItem(`take-${name}`, box.value));
    return [name, box];
  });
  if (fields.length) {
    const line = make("div", "", "texts");
    line.append(...fields.map(([, box]) => box));
    item.append(line);
  }
  const options = () => ({ ...(choice ? { ending: choice.value } : {}), ...Object.fromEntries(fields.map(([name, box]) => [name, box.value])) });
  save.addEventListener("click", () => take(item, save, kind, shots(kind), options()));
  return item;
}

async function take(item, save, kind, shots, options) {
  item.querySelector(".progress")?.remove();
  const line = make("div", "", "progress");
  const bar = document.createElement("progress");
  bar.max = 1;
  bar.setAttribute("aria-label", "How far it is");
  const says = make("span", "starting");
  line.append(bar, says);
  item.append(line);
  save.disabled = true;
  try {
    const { id } = await api.save(kind, shots, options);
    const stop = button("Stop", () => api.stop(id));
    line.append(stop);
    await follow(id, bar, says);
    stop.remove();
  } catch (error) {
    bar.remove();
    says.textContent = error.message;
    says.setAttribute("role", "alert");
  } finally {
    save.disabled = false;
  }
}

async function follow(id, bar, says) {
  for (;;) {
    const at = await api.saved(id);
    bar.value = at.share;
    says.textContent = at.what;
    if (at.problem) throw new Error(at.problem === "stopped" ? "Stopped; nothing was saved." : sentence(at.problem));
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

const sentence = (text) => `${text[0].toUpperCase()}${text.slice(1)}.`;
