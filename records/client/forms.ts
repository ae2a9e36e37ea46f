// Forms of records: long lists to tick narrow as one types, tables of named cells grow by a row.

function narrow(field: HTMLInputElement): void {
  const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
  const list = document.getElementById(field.dataset["narrows"] ?? "");
  for (const label of list?.querySelectorAll("label") ?? []) {
    const text = label.textContent.toLowerCase();
    const ticked = label.querySelector("input")?.checked ?? false;
    label.hidden = !ticked && !words.every((word) => text.includes(word));
  }
}

function addRow(button: HTMLButtonElement): void {
  const body = button.closest(".row-table")?.querySelector("tbody");
  const last = body?.lastElementChild;
  if (!body || !last) return;
  const row = last.cloneNode(true) as HTMLElement;
  for (const [index, cell] of row.querySelectorAll("input").entries()) {
    cell.value = "";
    cell.removeAttribute("id");
    const words = cell.ariaLabel?.replace(/\d+$/, String(body.children.length + 1));
    if (words) cell.ariaLabel = words;
    if (index === 0) queueMicrotask(() => cell.focus());
  }
  body.append(row);
}

for (const field of document.querySelectorAll<HTMLInputElement>("[data-narrows]")) {
  field.hidden = false;
  field.addEventListener("input", () => narrow(field));
}
for (const button of document.querySelectorAll<HTMLButtonElement>("[data-adds-row]")) {
  button.hidden = false;
  button.addEventListener("click", () => addRow(button));
}
