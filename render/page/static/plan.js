// A plan of a map, north up: a click stands the camera there, a drag also turns it.

import * as api from "./api.js";
import { button, make, openDialog } from "./dialog.js";
import { cased, draw } from "./marks.js";
import * as shot from "./state.js";
import { short } from "./words.js";

const degrees = (value) => value.toFixed(6);

export async function openPlan(fail) {
  const { body } = openDialog("Plan of the place", true);
  const about = make("p", "Click where you stand, or drag from there to where the camera looks. Map data is drawn as it is known; whether one may stand there it does not say: ask on site, keep away from edges.", "hint");
  const frame = make("div", "", "plan");
  frame.tabIndex = 0;
  frame.role = "application";
  frame.ariaLabel = "Plan: arrow keys move the standpoint, Enter sets it";
  const picture = new Image();
  picture.alt = "Plan of the map, north up";
  const over = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  frame.append(picture, over);
  const row = make("div", "", "tools three");
  let across = null, told = null, here = null, look = null, start = null;
  row.append(button("Nearer", () => show(across / 2)), button("Farther", () => show(across * 2)), button("All of it", () => show(0)));
  const credit = make("p", "", "hint");
  body.append(about, frame, row, credit);

  async function show(wide) {
    try {
      const { told: said, jpeg, bitmap } = await api.plan(shot.state.shot, { across: wide });
      bitmap.close();
      told = said;
      across = said.across_m;
      credit.textContent = said.credit ? `Map data: ${said.credit}` : "";
      picture.src = URL.createObjectURL(jpeg);
      here = said.here;
      look = null;
      mark();
    } catch (error) {
      fail(error);
    }
  }

  const place = ([x, y]) => `${degrees(told.north - y * (told.north - told.south))}, ${degrees(told.west + x * (told.east - told.west))}`;

  function mark() {
    over.replaceChildren();
    over.setAttribute("viewBox", "0 0 1000 1000");
    if (!here) return;
    const [x, y] = here.map((share) => 1000 * share);
    const a = look === null ? told.heading : look;
    if (a !== null) {
      const [dx, dy] = [Math.sin((a * Math.PI) / 180), -Math.cos((a * Math.PI) / 180)];
      cased(over, `M${x} ${y}l${dx * 140} ${dy * 140}`);
    }
    draw(over, "circle", { class: "spot", cx: x, cy: y, r: 10 });
  }

  function set() {
    const heading = look === null ? {} : { heading: short(((look % 360) + 360) % 360, 1), "look-at": null };
    shot.attempt({ at: place(here), ...heading });
    told.heading = look ?? told.heading;
  }

  const at = (event) => {
    const box = frame.getBoundingClientRect();
    return [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height];
  };
  frame.addEventListener("pointerdown", (event) => {
    if (!told || event.button !== 0) return;
    event.preventDefault();
    frame.focus();
    frame.setPointerCapture(event.pointerId);
    start = at(event);
    here = start;
    look = null;
    mark();
  });
  frame.addEventListener("pointermove", (event) => {
    if (!start || !event.buttons) return;
    const [x, y] = at(event);
    if (Math.hypot(x - start[0], y - start[1]) > 0.02) look = (Math.atan2(x - start[0], start[1] - y) * 180) / Math.PI;
    mark();
  });
  frame.addEventListener("pointerup", () => {
    if (start) set();
    start = null;
  });
  frame.addEventListener("keydown", (event) => {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!told || (!way && event.key !== "Enter")) return;
    event.preventDefault();
    if (!way) {
      set();
      return;
    }
    const step = event.shiftKey ? 0.05 : 0.01;
    here = [(here?.[0] ?? 0.5) + way[0] * step, (here?.[1] ?? 0.5) + way[1] * step];
    mark();
  });
  await show(0);
}
