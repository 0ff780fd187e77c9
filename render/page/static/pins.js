// Settings kept for comparison.

import { button, make, openDialog } from "./dialog.js";
import * as shot from "./state.js";

const home = document.getElementById("pins");

/** A small copy of a picture, light enough to be kept. */
export function thumbnail(picture) {
  const small = document.createElement("canvas");
  small.width = 264;
  small.height = Math.round((264 * picture.height) / picture.width);
  small.getContext("2d").drawImage(picture, 0, 0, small.width, small.height);
  return small.toDataURL("image/jpeg", 0.8);
}

export function showPins({ pin, against, compare }) {
  home.replaceChildren();
  const { pins, seen } = shot.state;
  home.append(button("Pin this setting", pin));
  const list = document.createElement("ol");
  pins.forEach((kept, at) => {
    const item = make("li", "", "pin");
    const back = button("", () => shot.replace(kept.shot));
    back.setAttribute("aria-label", `Back to setting ${at + 1}: ${kept.words}`);
    back.title = kept.words;
    const picture = new Image();
    picture.src = kept.picture;
    picture.alt = "";
    back.append(picture, make("span", kept.words), make("span", kept.verdict || "", "muted"));
    const row = make("div", "", "row");
    const wipe = button("Wipe", () => against(at));
    wipe.setAttribute("aria-pressed", seen.against === at);
    wipe.setAttribute("aria-label", `Wipe against setting ${at + 1}`);
    const drop = button("Unpin", () => {
      shot.see({ against: null });
      shot.pinned(pins.filter((_, other) => other !== at));
    });
    drop.setAttribute("aria-label", `Unpin setting ${at + 1}`);
    row.append(wipe, drop);
    item.append(back, row);
    list.append(item);
  });
  if (pins.length) home.append(list);
  if (pins.length > 1) home.append(button("Side by side", compare));
}

/** Pinned settings beside each other, each made anew at the same size. */
export async function sideBySide(look) {
  const { body } = openDialog("Pinned settings", true);
  const grid = make("div", "", "side");
  body.append(grid);
  const addresses = [];
  for (const kept of shot.state.pins) {
    const figure = document.createElement("figure");
    const picture = new Image();
    picture.alt = kept.words;
    picture.src = kept.picture;
    figure.append(picture, make("figcaption", [kept.words, kept.verdict].filter(Boolean).join(" · ")));
    grid.append(figure);
  }
  for (const [at, kept] of shot.state.pins.entries()) {
    if (!body.isConnected) break;
    try {
      const { jpeg, bitmap } = await look(kept.shot);
      bitmap.close();
      addresses.push(URL.createObjectURL(jpeg));
      grid.children[at].firstChild.src = addresses.at(-1);
    } catch (error) {
      grid.children[at].lastChild.textContent += ` · ${error.message}`;
    }
  }
  body.closest("dialog").addEventListener("close", () => addresses.forEach((one) => URL.revokeObjectURL(one)), { once: true });
}
