// From a dropped file or a chosen place to a shot.

import * as api from "./api.js";
import { button, make, openDialog } from "./dialog.js";
import * as shot from "./state.js";

/** Pictures that were handed in, by id: their names and what had to be guessed. */
export const papers = {};

export const called = (id) => shot.state.seen.names?.[id] ?? papers[id]?.name ?? id;

/** The owner's defaults: values that every shot begins with. */
export const own = {};
const mine = () => (Object.keys(own).length ? { own: Object.keys(own) } : {});

const input = document.getElementById("file");
const PICTURES = /\.(jpe?g|heic|heif|avif|webp|dng|nef|cr2|cr3|arw|raf|orf|rw2)$/i;
const CLIPS = /\.(mp4|m4v|mov|mkv|webm|avi|mxf|mts|m2ts|ts|mpe?g|wmv|ogv|h264|264|hevc|265|y4m|3gp|nut)$/i;
const STILLS = /\.(png|tiff?|exr|hdr|bmp|jp2|j2k|jxl)$/i;
/** So many stills that are numbered alike may be meant as a film. */
const A_FILM = 3;
const DEPTHS = /\.(npy|npz|pfm)$/i;

export function choose() {
  input.value = "";
  input.click();
}

export function listenForFiles(say) {
  input.addEventListener("change", () => take([...input.files], say));
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
    take([...event.dataTransfer.files], say);
  });
  addEventListener("paste", (event) => {
    const files = [...(event.clipboardData?.files ?? [])];
    if (files.length) take(files, say);
  });
}

/** Of files dropped together the picture comes first, then its depth, then a shot of them. */
function rank({ name }) {
  if (/\.(toml|zip)$/i.test(name)) return 4;
  if (DEPTHS.test(name)) return 3;
  if (PICTURES.test(name) || CLIPS.test(name)) return 0;
  return /depth|disp/i.test(name) ? 2 : 1;
}

async function take(files, say) {
  document.getElementById("dialog").close();
  const stills = numberedAlike(files);
  if (stills.length >= A_FILM) {
    const film = await asFilm(stills.length);
    if (film === null) return;
    if (film) {
      files = files.filter((file) => !stills.includes(file));
      if (!await takeRun(stills, files.some(({ name }) => rank({ name }) === 4), say) || !files.length) return;
    }
  }
  const sorted = files.map((file) => [rank(file), file]).sort(([a], [b]) => a - b).map(([, file]) => file);
  const withShot = sorted.length > 1 && rank(sorted.at(-1)) === 4;
  let wrong = "";
  for (const [at, file] of sorted.entries()) {
    say(`Opening ${file.name}${file.size > 2e6 ? `, ${Math.round(file.size / 1e6)} MB` : ""}`, false);
    try {
      const beside = withShot ? rank(file) > 0 : at > 0 || Boolean(shot.state.shot.picture);
      opened(await api.hand(file, beside ? { beside: "" } : {}), withShot);
    } catch (error) {
      if (!(error instanceof api.Stale)) wrong ||= error.message;
    }
  }
  say(wrong, Boolean(wrong));
}

/** Stills of one kind whose names differ in one number alone, in its order. */
function numberedAlike(files) {
  const found = files.filter(({ name }) => PICTURES.test(name) || STILLS.test(name)).map((file) => ({ file, parts: file.name.split(/(\d+)/) }));
  const [first] = found;
  if (!first || found.some(({ parts }) => parts.length !== first.parts.length)) return [];
  const differ = first.parts.map((_, at) => at).filter((at) => found.some(({ parts }) => parts[at] !== first.parts[at]));
  if (differ.length !== 1 || differ[0] % 2 === 0) return [];
  return found.sort((a, b) => a.parts[differ[0]] - b.parts[differ[0]]).map(({ file }) => file);
}

/** Ask whether stills are one film; null: neither, the question was closed. */
function asFilm(count) {
  return new Promise((answer) => {
    const { body, close } = openDialog(`${count} numbered stills`);
    const row = make("div", "", "row");
    const say = (film) => { answer(film); close(); };
    row.append(button("Open as one film", () => say(true), "strong"), button("Open as single pictures", () => say(false)));
    body.append(make("p", "Their names differ in one number alone. As a film they run at 25 a second, and share one depth."), row);
    document.getElementById("dialog").addEventListener("close", () => answer(null), { once: true });
  });
}

async function takeRun(stills, withShot, say) {
  const run = crypto.randomUUID();
  try {
    for (const [at, file] of stills.entries()) {
      say(`Opening still ${at + 1} of ${stills.length}`, false);
      await api.still(file, run);
    }
    opened(await api.laid(run), withShot);
  } catch (error) {
    say(error instanceof api.Stale ? "" : error.message, !(error instanceof api.Stale));
    return false;
  }
  say("", false);
  return true;
}

function opened(laid, withShot) {
  if (laid.kind === "picture") {
    papers[laid.id] = { name: laid.name, guessed: laid.guessed, footage: laid.footage };
    if (!withShot) openPicture(laid.id, laid.name, laid.guessed);
  } else if (laid.kind === "depth") {
    shot.see({ names: { ...shot.state.seen.names, [laid.id]: laid.name } });
    if (!withShot) shot.attempt({ depth: laid.id });
  } else if (laid.kind === "lens") {
    shot.see({ names: { ...shot.state.seen.names, [laid.id]: laid.name } });
    shot.attempt({ "lens-file": laid.id });
  } else if (laid.kind === "scene") {
    anew({ picture: null, scene: laid.id, name: laid.name, values: { ...own, ...laid.values } });
  } else {
    shot.see({ names: { ...shot.state.seen.names, ...laid.names } });
    shot.replace({ ...laid.shot, judging: shot.state.shot.judging });
  }
}

/** A picture; one that was at work when the program ended, or was left for another, goes on where it was. */
function openPicture(id, name, guessed) {
  const kept = shot.state.waiting;
  if (kept?.shot.picture === id) {
    shot.state.waiting = null;
    shot.bringBack(kept);
    shot.replace({ ...kept.shot });
    shot.pinned(shot.state.pins);
    shot.refresh();
    return;
  }
  const one = { picture: id, scene: null };
  if (shot.samePlace(one) || !shot.back(one)) anew({ ...one, name, values: { ...guessed, ...own } }, Boolean(papers[id]?.footage));
}

/** Another place: the line of time is there for footage; whoever wants it elsewhere asks for it. */
function anew(one, film = false) {
  shot.replace({ ...one, ...mine(), judging: shot.state.shot.judging });
  shot.see({ film });
}

export function openPlace(place) {
  anew({ picture: null, scene: place.name, name: place.title, values: { ...own } });
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

function openAlready(places) {
  const { shot: now, seen } = shot.state;
  const pictures = Object.entries(papers).filter(([, { guessed }]) => guessed)
    .map(([id, { name, guessed }]) => ({ name, open: () => { if (now.picture !== id) openPicture(id, name, guessed); } }));
  const there = ({ scene }) => scene && (papers[scene] || places.some(({ name }) => name === scene));
  const scenes = Object.values(seen.left ?? {}).map(({ shot: one }) => one).filter((one) => there(one) && !shot.samePlace(one));
  return [...pictures, ...[now, ...scenes].filter(there).map((one) => ({ name: one.name, open: () => { if (one !== now) shot.back(one); } }))];
}

export function openDesk(places) {
  const { body, close } = openDialog("Open");
  const first = make("p", "", "");
  first.append(button("Choose files", () => { close(); choose(); }, "strong"));
  body.append(first, make("p", "A picture, with its depth file if there is one; a clip or numbered stills; a shot saved here; a map (.osm, .pbf, .geojson); a scene or lens file. Or drop them anywhere on the page.", "muted small"));
  const known = openAlready(places);
  if (known.length) {
    const list = make("div", "", "known");
    list.append(...known.map(({ name, open }) => button(name, () => { close(); open(); })));
    body.append(make("h3", "Open already"), list);
  }
  if (places.length) {
    const list = make("ul", "", "places");
    list.append(...placeButtons(places, (place) => { close(); openPlace(place); }));
    body.append(make("h3", "Invented places"), list);
  }
}

export function chooseFor(accept, taken, failed) {
  const once = Object.assign(document.createElement("input"), { type: "file", accept });
  once.addEventListener("change", async () => {
    if (!once.files[0]) return;
    try {
      const laid = await api.hand(once.files[0], { as: "file" });
      shot.see({ names: { ...shot.state.seen.names, [laid.id]: laid.name } });
      taken(laid.id, laid.name);
    } catch (error) {
      failed(error.message);
    }
  });
  once.click();
}
