// Which lens: one that comes along, a lens file, or one written down by hand.

import * as api from "./api.js";
import { ask, button, make, selection } from "./dialog.js";
import { called, chooseFor } from "./open.js";
import * as shot from "./state.js";

export function lensRow(lenses, fail) {
  const row = make("div", "", "field lens");
  const select = selection([["", "any usual lens"], ...lenses.map((name) => [name, name])]);
  const label = make("label", "The lens");
  select.id = "lens-file";
  label.htmlFor = select.id;
  const own = button("Write one down", write), file = button("Lens file", () => chooseFor(".toml", (id) => shot.attempt({ "lens-file": id }), fail));
  select.addEventListener("change", () => shot.attempt({ "lens-file": select.value || null, ...(select.value ? { lens: null } : {}) }));
  const both = make("div", "", "both");
  both.append(own, file);
  row.append(label, select, both);

  function write() {
    ask("Your lens, as its markings say", [
      { name: "name", label: "Its name", value: "my lens" },
      { name: "focal-mm", label: "Focal length, mm", empty: "45" },
      { name: "widest", label: "Widest f-number", empty: "2.8" },
      { name: "smallest", label: "Smallest f-number", empty: "22" },
      { name: "tilt-limit-deg", label: "Tilts up to, degrees", empty: "8" },
      { name: "shift-limit-mm", label: "Shifts up to, mm", empty: "12" },
      { name: "closest-focus-m", label: "Closest focus, m", empty: "0.4" },
    ], "Use this lens", (values) => {
      const empty = Object.entries(values).find(([name, text]) => name !== "shift-limit-mm" && !text);
      if (empty) return "All but the shift is needed.";
      api.lens(values).then(({ id, name }) => {
        shot.see({ names: { ...shot.state.seen.names, [id]: name } });
        shot.attempt({ "lens-file": id, lens: null });
      }, (error) => fail(error.message));
      return "";
    });
  }

  return {
    row,
    follow(value) {
      const wanted = value ?? "";
      if (![...select.options].some((one) => one.value === wanted)) select.append(new Option(called(wanted), wanted));
      select.value = wanted;
    },
  };
}
