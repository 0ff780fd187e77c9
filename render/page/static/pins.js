// Settings kept for comparison.

import { button, make, openDialog, swap } from "./dialog.js";
import * as shot from "./state.js";
import { metres } from "./words.js";

const home = document.getElementById("pins");

export function thumbnail(picture) {
  const small = document.createElement("canvas");
  small.width = 264;
  small.height = Math.round((264 * picture.height) / picture.width);
  small.getContext("2d").drawImage(picture, 0, 0, small.width, small.height);
  return small.toDataURL("image/jpeg", 0.8);
}

/** A pin's focus: how far, and where in the picture if another is focused as far elsewhere. */
function focused({ focus, shot: { values } }, all) {
  const words = `focus ${metres(focus)}`;
  return values.focus?.includes(",") && all.some((one) => one.focus && metres(one.focus) === metres(focus) && one.shot.values.focus !== values.focus) ? `${words} at ${values.focus.replace(",", ", ")}` : words;
}

/** What parts a kept setting from the others: its own words for what differs. */
function differs(kept, all) {
  const names = Object.keys(shot.keys).filter((name) => new Set(all.map((one) => JSON.stringify(one.shot.values[name] ?? null))).size > 1);
  const said = names.map((name) => {
    const words = kept.shot.values[name];
    if (name === "focus" && kept.focus) return focused(kept, all);
    if (words === undefined) return "";
    if (name === "f") return `f/${words}`;
    if (name === "lens") return `${words} mm`;
    if (name === "focus") return words.includes(",") ? "other focus" : `focus ${words}`;
    return words === "0" || Array.isArray(words) ? "" : `${shot.keys[name].label.toLowerCase()} ${words}`;
  }).filter(Boolean);
  const words = said.join(", ") || kept.words.replace(/^[\d.]+ mm, /, "");
  return all.every((one) => shot.samePlace(one.shot)) ? words : `${kept.shot.name}, ${words}`;
}

/** The shots that a client's page shows, the one at hand first, and a sentence on what is pinned besides. */
export function forBoard() {
  const one = shot.state.shot, shots = [one], left = [];
  const part = ({ values }, lens) => JSON.stringify(Object.entries(values).filter(([name]) => name !== "check" && ["lens", "camera"].includes(shot.keys[name].table) === lens).sort());
  shot.state.pins.forEach(({ shot: kept }, at) => {
    if (shots.some((shown) => shot.samePlace(kept) && [true, false].every((lens) => part(shown, lens) === part(kept, lens)))) return;  // it is shown
    let why = "";
    if (!shot.samePlace(kept)) why = "another place";
    else if (one.scene && part(kept, false) !== part(one, false)) why = "another view of the place";
    else if (shots.some((shown) => part(shown, true) === part(kept, true))) why = "only the place differs";
    else if (shots.length > 4) why = "four are the most";
    if (why) left.push(`${at + 1} (${why})`);
    else shots.push(kept);
  });
  return { shots, left: left.length ? ` Not shown of what is pinned: ${left.join(", ")}.` : "" };
}

/** A film's key frames, its length, what is wished and how it is judged are no part of a setting: they stay, where the place stays. */
function withMoves(kept) {
  const { moves, lasts, wished, judging } = shot.state.shot;
  return shot.samePlace(kept) ? { ...kept, moves, lasts, wished, judging } : kept;
}

export function showPins({ against, compare }) {
  const { pins, seen } = shot.state;
  const list = make("ol");
  pins.forEach((kept, at) => {
    const item = make("li", "", "pin");
    const words = differs(kept, pins);
    const back = button("", () => shot.replace(withMoves(kept.shot)), "back");
    back.ariaLabel = `Back to setting ${at + 1}: ${kept.words}`;
    back.title = kept.words;
    const picture = new Image();
    picture.src = kept.picture;
    picture.alt = "";
    const text = make("span", "", "text");
    text.append(make("b", `${at + 1}  ${words}`), make("span", kept.verdict || "", "muted"));
    back.append(picture, text);
    const wipe = button("Wipe", () => against(at));
    wipe.ariaPressed = seen.wipe === true && seen.against === at;
    wipe.ariaLabel = `Wipe against setting ${at + 1}`;
    const drop = button("Unpin", () => {
      shot.see({ against: null, ...(seen.against === at ? { wipe: false } : {}) });
      shot.pinned(pins.filter((_, other) => other !== at));
    });
    drop.ariaLabel = `Unpin setting ${at + 1}`;
    const row = make("div", "", "row");
    row.append(...(shot.samePlace(kept.shot) ? [wipe] : []), drop);
    item.append(back, row);
    list.append(item);
  });
  const more = pins.length > 1 ? [button("Side by side", compare)] : [];
  swap(home, ...(pins.length ? [list] : []), ...more);
}

export async function sideBySide(look) {
  const { body } = openDialog("Pinned settings", true);
  const grid = make("div", "", "side");
  body.append(grid);
  const addresses = [], { pins } = shot.state;
  for (const kept of pins) {
    const figure = document.createElement("figure");
    const picture = new Image();
    picture.alt = kept.words;
    picture.src = kept.picture;
    const words = make("figcaption", "");
    words.append(make("b", differs(kept, pins)), make("span", [kept.words, kept.focus && focused(kept, pins), kept.verdict].filter(Boolean).join(" · "), "muted"));
    figure.append(picture, words);
    grid.append(figure);
  }
  for (const [at, kept] of pins.entries()) {
    if (!body.isConnected) break;
    try {
      const { jpeg, bitmap } = await look(kept.shot);
      bitmap.close();
      addresses.push(URL.createObjectURL(jpeg));
      grid.children[at].firstChild.src = addresses.at(-1);
    } catch (error) {
      grid.children[at].lastChild.append(` · ${error.message}`);
    }
  }
  body.closest("dialog").addEventListener("close", () => addresses.forEach((one) => URL.revokeObjectURL(one)), { once: true });
}
