// From a dropped file or a chosen place to a shot.

import * as api from "./api.js";
import { button, make, openDialog } from "./dialog.js";
import * as shot from "./state.js";

/** Pictures that were handed in, by id: their names and what had to be guessed. */
export const papers = {};

const input = document.getElementById("file");

export function choose() {
  input.value = "";
  input.click();
}

/** Listen for files; `told` hears what happens as a sentence. */
export function listenForFiles(told) {
  input.addEventListener("change", () => take([...input.files], told));
  const heard = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");
  let depth = 0;
  addEventListener("dragenter", (event) => {
    if (heard(event) && ++depth) document.body.classList.add("over");
  });
  addEventListener("dragleave", (event) => {
    if (heard(event) && --depth <= 0) document.body.classList.remove("over");
  });
  addEventListener("dragover", (event) => heard(event) && event.preventDefault());
  addEventListener("drop", (event) => {
    if (!heard(event)) return;
    event.preventDefault();
    depth = 0;
    document.body.classList.remove("over");
    take([...event.dataTransfer.files], told);
  });
  addEventListener("paste", (event) => {
    const files = [...(event.clipboardData?.files ?? [])];
    if (files.length) take(files, told);
  });
}

async function take(files, told) {
  document.getElementById("dialog").close();
  for (const file of files) {
    told(`Opening ${file.name}`, false);
    try {
      const laid = await api.hand(file, Boolean(shot.state.shot.picture));
      if (laid.kind === "picture") {
        papers[laid.id] = { name: laid.name, guessed: laid.guessed };
        openPicture(laid.id, laid.name, laid.guessed);
      }
      else if (laid.kind === "depth") {
        shot.see({ names: { ...shot.state.seen.names, [laid.id]: laid.name } });
        shot.turn({ depth: laid.id });
      } else shot.replace(laid.shot);
      told("", false);
    } catch (error) {
      if (!(error instanceof api.Stale)) told(error.message, true);
    }
  }
}

export function openPicture(id, name, guessed) {
  shot.replace({ picture: id, scene: null, name, values: { ...guessed } });
  shot.see({ guessed: Object.keys(guessed) });
}

export function openPlace(place) {
  shot.replace({ picture: null, scene: place.name, name: place.title, values: {} });
  shot.see({ guessed: [] });
}

export function placeButtons(places, chosen) {
  return places.map((place) => {
    const item = document.createElement("li");
    const press = button("", () => chosen(place));
    if (place.picture) {
      const picture = new Image();
      picture.src = `static/${place.picture}`;
      picture.alt = "";
      press.append(picture);
    }
    press.append(make("b", place.title), make("span", place.about));
    item.append(press);
    return item;
  });
}

export function openDesk(places) {
  const { body, close } = openDialog("Open");
  const first = make("p", "", "");
  first.append(button("Choose a picture, a depth file or a shot", () => { close(); choose(); }, "strong"), make("span", "  or drop one anywhere on the page.", "muted"));
  body.append(first);
  const known = Object.entries(papers);
  if (known.length) {
    body.append(make("h3", "Open already"));
    for (const [id, { name, guessed }] of known) body.append(button(name, () => { close(); openPicture(id, name, guessed); }));
  }
  if (places.length) {
    const head = make("h3", "Invented places");
    const list = make("ul", "", "places");
    list.append(...placeButtons(places, (place) => { close(); openPlace(place); }));
    body.append(head, list);
  }
}
