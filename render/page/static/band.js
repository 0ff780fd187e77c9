// The sharp band, taken hold of: in the middle the focus follows, at an end the swing does too.

import * as api from "./api.js";
import { latest } from "./flow.js";
import * as shot from "./state.js";

const NAMES = ["left end", "middle", "right end"];
const kept = (y) => Math.min(0.995, Math.max(0.005, y));

/** Three handles over the picture; `page.told.handles` says where the band is sharpest. */
export function buildBand(view, page, { redraw, fail }) {
  let held = null;
  const handles = NAMES.map((name, at) => {
    const handle = document.createElement("div");
    handle.className = "handle";
    handle.tabIndex = 0;
    handle.hidden = true;
    handle.role = "slider";
    handle.ariaLabel = `Sharp band, ${name}: up and down arrows move it`;
    handle.ariaOrientation = "vertical";
    handle.ariaValueMin = 0;
    handle.ariaValueMax = 100;
    view.frame.append(handle);
    listen(handle, at);
    return handle;
  });

  const own = (at) => (page.told?.handles ?? []).find(([x]) => Math.abs(x - [0.12, 0.5, 0.88][at]) < 0.02);

  function take(at) {
    const start = own(at);
    if (!start) return null;
    const others = at !== 1 && own(2 - at) ? [[...own(2 - at)]] : [];
    const lay = latest(async (y) => shot.turn(await api.lay(base, [...others, [start[0], y]])), fail);
    const base = shot.state.shot;
    shot.hold();
    const from = held?.at === at ? held.y : start[1];
    held = { at, y: from };
    return {
      from,
      to(y) {
        held = { at, y: kept(y) };
        redraw();
        return lay(held.y);
      },
      async end() {
        const { y } = held;
        await lay(y);
        shot.release();
        setTimeout(() => { if (held?.y === y) { held = null; redraw(); } }, 1500);
      },
    };
  }

  function listen(handle, at) {
    let grip = null, offset = 0;
    handle.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      event.stopPropagation();
      grip = take(at);
      if (!grip) return;
      offset = view.at(event).free.y - grip.from;
      handle.setPointerCapture(event.pointerId);
    });
    handle.addEventListener("pointermove", (event) => {
      if (!grip || !event.buttons) return;
      event.stopPropagation();
      grip.to(view.at(event).free.y - offset);
    });
    const end = (event) => {
      event.stopPropagation();
      grip?.end();
      grip = null;
    };
    handle.addEventListener("pointerup", end);
    handle.addEventListener("pointercancel", end);
    handle.addEventListener("keydown", (event) => {
      const way = { ArrowUp: -1, ArrowDown: 1 }[event.key];
      if (!way) return;
      event.preventDefault();
      event.stopPropagation();
      const keyed = take(at);
      if (!keyed) return;
      keyed.to(keyed.from + way * (event.shiftKey ? 0.05 : 0.01));
      keyed.end();
    });
  }

  return {
    get moved() {
      const was = held && own(held.at);
      return was ? held.y - was[1] : 0;
    },
    follow(on) {
      if (!on) held = null;
      handles.forEach((handle, at) => {
        const where = own(at), focused = document.activeElement === handle;
        handle.hidden = !on || (!where && !focused);
        if (!where) return;
        const y = held?.at === at ? held.y : where[1] + (held && (held.at === 1 || at === 1) ? this.moved * (held.at === 1 ? 1 : 0.5) : 0);
        handle.style.left = `${100 * where[0]}%`;
        handle.style.top = `${100 * y}%`;
        handle.ariaValueNow = Math.round(100 * y);
        handle.ariaValueText = `${Math.round(100 * y)} % from the top`;
      });
    },
  };
}
