// Keys: an element with `data-key` is pressed (or, if it is a field, entered) by that key.
//
// `data-key="n"` is one key, `"g h"` two in a row, `"mod+enter"` with Ctrl or Command. `?` lists
// those of the page. Keys without Ctrl or Command can be switched off, for people who speak to
// their computer; they are silent while one types.

const OFF = "keys-off";
const PAUSE_MS = 1200;

let first = "";
let firstAt = 0;

function typing(target: EventTarget | null): boolean {
  return (
    target instanceof HTMLElement &&
    (target.isContentEditable ||
      target instanceof HTMLTextAreaElement ||
      target instanceof HTMLSelectElement ||
      (target instanceof HTMLInputElement && !["checkbox", "radio", "button", "submit"].includes(target.type)))
  );
}

function off(): boolean {
  return localStorage.getItem(OFF) === "yes";
}

function holders(): HTMLElement[] {
  return [...document.querySelectorAll<HTMLElement>("[data-key]")].filter((e) => !e.closest("[hidden]"));
}

function holder(key: string): HTMLElement | undefined {
  return holders().find((element) => element.dataset["key"] === key);
}

function use(element: HTMLElement): void {
  if (typing(element) || element.tabIndex === -1) {
    element.focus();
    if (element instanceof HTMLInputElement) element.select();
  } else {
    element.click();
  }
}

function nameOf(element: HTMLElement): string {
  const named = element.dataset["keyName"] ?? element.getAttribute("aria-label");
  const label = (element as HTMLInputElement).labels?.[0]?.textContent;
  return (named ?? label ?? element.textContent ?? "").replace("(optional)", "").trim() || element.id;
}

function caps(key: string): DocumentFragment {
  const shown = document.createDocumentFragment();
  key.split(/[ +]/).forEach((part, index) => {
    if (index) shown.append(" ");
    const cap = document.createElement("kbd");
    cap.textContent = { mod: "Ctrl", enter: "Enter", escape: "Esc" }[part] ?? part;
    shown.append(cap);
  });
  return shown;
}

function list(sheet: HTMLElement): void {
  const heading = document.createElement("h2");
  heading.textContent = "Keys on this page";
  const terms = document.createElement("dl");
  const rows: [string, string][] = holders().map((e) => [e.dataset["key"] ?? "", nameOf(e)]);
  for (const [key, name] of [...rows, ["?", "This list"], ["escape", "Close what is open"]] as const) {
    const term = document.createElement("dt");
    term.append(caps(key));
    const meaning = document.createElement("dd");
    meaning.textContent = name;
    terms.append(term, meaning);
  }
  const box = document.createElement("input");
  box.type = "checkbox";
  box.checked = !off();
  box.addEventListener("change", () => localStorage.setItem(OFF, box.checked ? "no" : "yes"));
  const label = document.createElement("label");
  label.append(box, " Single keys are on (this browser)");
  const field = document.createElement("div");
  field.className = "field";
  field.append(label);
  sheet.replaceChildren(heading, terms, field);
}

function pressed(event: KeyboardEvent): void {
  const key = event.key.toLowerCase();
  if ((event.ctrlKey || event.metaKey) && key === "enter") {
    const within = event.target instanceof Element ? event.target.closest("form") : null;
    const button = within?.querySelector<HTMLElement>("[data-key='mod+enter']") ?? holder("mod+enter");
    if (button) {
      event.preventDefault();
      button.click();
    }
    return;
  }
  if (event.ctrlKey || event.metaKey || event.altKey || typing(event.target) || off()) return;
  const pair = Date.now() - firstAt < PAUSE_MS ? `${first} ${key}` : "";
  const found = (pair && holder(pair)) || holder(key);
  first = key;
  firstAt = Date.now();
  if (found) {
    event.preventDefault();
    first = "";
    use(found);
  } else if (key === "?") {
    event.preventDefault();
    document.getElementById("keys")?.togglePopover();
  }
}

export function startKeys(): void {
  document.addEventListener("keydown", pressed);
  const sheet = document.getElementById("keys");
  sheet?.addEventListener("beforetoggle", (event) => {
    if ((event as ToggleEvent).newState === "open") list(sheet);
  });
}
