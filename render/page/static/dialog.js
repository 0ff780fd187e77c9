// One dialog for everything that asks for room of its own.

const dialog = document.getElementById("dialog");

/** Open the dialog with a title; returns its body and a way to close it. */
export function openDialog(title, wide = false) {
  dialog.className = wide ? "wide" : "";
  dialog.replaceChildren();
  const inner = document.createElement("div");
  inner.className = "inner";
  inner.innerHTML = `<div class="top"><h2 id="dialog-title"></h2><button type="button">Close</button></div><div class="body"></div>`;
  inner.querySelector("h2").textContent = title;
  inner.querySelector("button").addEventListener("click", () => dialog.close());
  dialog.append(inner);
  dialog.showModal();
  return { body: inner.querySelector(".body"), close: () => dialog.close() };
}

dialog.addEventListener("click", (event) => {
  if (event.target === dialog) dialog.close();
});

/** Make an element with text. */
export function make(tag, text = "", className = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (className) element.className = className;
  return element;
}

export function button(text, pressed, className = "") {
  const element = make("button", text, className);
  element.type = "button";
  element.addEventListener("click", pressed);
  return element;
}
