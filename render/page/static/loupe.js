// The photograph under the pointer, pixel for pixel.

import * as api from "./api.js";

const glass = document.getElementById("loupe");
const SIZE = 220;

/** `wanted()` is the shot to look at, or null when the loupe is put away. */
export function buildLoupe(view, wanted, fail) {
  let at = null, busy = false, aborter = null;

  function hide() {
    at = null;
    aborter?.abort();
    glass.hidden = true;
  }

  async function fetchNow() {
    if (busy || !at) return;
    busy = true;
    const here = at, shot = wanted();
    aborter = new AbortController();
    try {
      const { told, bitmap } = await api.loupe(shot, here, aborter.signal);
      if (at) show(bitmap, here, told);
      bitmap.close();
    } catch (error) {
      fail(error);
    }
    busy = false;
    if (at && at !== here) fetchNow();
  }

  function show(bitmap, here, told) {
    glass.hidden = false;
    glass.width = glass.height = SIZE;
    const pen = glass.getContext("2d");
    pen.imageSmoothingEnabled = false;
    pen.drawImage(bitmap, (SIZE - bitmap.width) / 2, (SIZE - bitmap.height) / 2);
    glass.title = `${Math.round(100 * told.x)} %, ${Math.round(100 * told.y)} %`;
    place(here);
  }

  function place({ x, y }) {
    const { width, height } = view.size;
    const left = x * width + (x > 0.5 ? -SIZE - 24 : 24), top = y * height - SIZE / 2;
    glass.style.left = `${Math.min(width - SIZE, Math.max(0, left))}px`;
    glass.style.top = `${Math.min(height - SIZE, Math.max(0, top))}px`;
  }

  return {
    hide,
    again() {
      if (at && wanted()) fetchNow();
    },
    over(to) {
      if (!to || !wanted()) {
        hide();
        return;
      }
      at = to;
      if (!glass.hidden) place(to);
      fetchNow();
    },
  };
}
