// The table of points: what is typed in it is what is sent, the two panes only write into it.

export type Pair = [number, number];

export interface Point {
  px: Pair | null;
  mm: Pair | null;
  found: string;
}

export interface Figures {
  missed: number | null;
  left: number | null;
  doubtful: boolean;
}

const DECIMALS = { px: 1, mm: 1 };

export class Points {
  constructor(
    private readonly body: HTMLTableSectionElement,
    private readonly changed: () => void,
  ) {
    body.addEventListener("input", changed);
    for (const row of this.rows) this.wire(row);
  }

  private get rows(): HTMLTableRowElement[] {
    return [...this.body.rows];
  }

  get all(): Point[] {
    return this.rows.map((row) => {
      const [column, down, x, y] = this.cells(row).map((cell) => read(cell.value));
      return { px: pair(column, down), mm: pair(x, y), found: this.mark(row).value };
    });
  }

  set(index: number, where: "px" | "mm", at: Pair, decimals = DECIMALS[where]): void {
    const row = this.rows[index];
    if (!row) return;
    const cells = this.cells(row).slice(where === "px" ? 0 : 2);
    at.forEach((value, which) => {
      const cell = cells[which];
      if (cell) cell.value = String(Number(value.toFixed(decimals)));
    });
    this.changed();
  }

  // The first empty row, or a new one.
  add(): number {
    const empty = this.all.findIndex((point) => !point.px && !point.mm);
    if (empty >= 0) return empty;
    const last = this.rows.at(-1);
    if (!last) return -1;
    const row = last.cloneNode(true) as HTMLTableRowElement;
    this.body.append(row);
    this.clear(row);
    this.wire(row);
    this.number();
    return this.rows.length - 1;
  }

  accept(px: Pair, mm: Pair): void {
    const index = this.add();
    const row = this.rows[index];
    if (!row) return;
    this.mark(row).value = "machine";
    row.dataset["found"] = "machine";
    const cells = this.cells(row);
    [...px, ...mm].forEach((value, which) => {
      const cell = cells[which];
      if (cell) cell.value = String(value);
    });
    this.changed();
  }

  remove(index: number): void {
    const row = this.rows[index];
    if (!row) return;
    if (this.rows.length > 1) row.remove();
    else this.clear(row);
    this.number();
    this.changed();
  }

  tell(figures: Record<string, Figures>): void {
    this.rows.forEach((row, index) => {
      const told = figures[index];
      const write = (name: string, value: number | null | undefined): void => {
        const cell = row.querySelector<HTMLOutputElement>(`[data-${name}]`);
        if (cell) cell.value = value === null || value === undefined ? "" : value.toFixed(value < 10 ? 2 : 1);
      };
      write("missed", told?.missed);
      write("left", told?.left);
      row.classList.toggle("doubtful", told?.doubtful ?? false);
    });
  }

  hold(index: number | null): void {
    this.rows.forEach((row, which) => row.classList.toggle("held", which === index));
  }

  indexOf(element: Element): number {
    const row = element.closest("tr");
    return row ? this.rows.indexOf(row) : -1;
  }

  private wire(row: HTMLTableRowElement): void {
    const button = row.querySelector<HTMLButtonElement>("[data-removes-row]");
    if (!button) return;
    button.hidden = false;
    button.addEventListener("click", () => this.remove(this.indexOf(button)));
  }

  private clear(row: HTMLTableRowElement): void {
    for (const cell of row.querySelectorAll("input")) {
      cell.value = "";
      cell.removeAttribute("id");
    }
    for (const told of row.querySelectorAll("output")) told.value = "";
    row.classList.remove("held", "doubtful");
    delete row.dataset["found"];
  }

  private number(): void {
    this.rows.forEach((row, index) => {
      for (const part of row.querySelectorAll<HTMLElement>("[aria-label]")) {
        part.ariaLabel = part.ariaLabel?.replace(/\d+$/, String(index + 1)) ?? null;
      }
      const button = row.querySelector("[data-goes-to]");
      if (button) button.textContent = String(index + 1);
    });
  }

  private cells(row: HTMLTableRowElement): HTMLInputElement[] {
    return [...row.querySelectorAll<HTMLInputElement>("input:not([type=hidden])")];
  }

  private mark(row: HTMLTableRowElement): HTMLInputElement {
    const found = row.querySelector<HTMLInputElement>("input[type=hidden]");
    if (!found) throw new Error("A row of points lacks who found it.");
    return found;
  }
}

function read(text: string): number {
  const typed = text.trim().replace(",", ".");
  return typed ? Number(typed) : NaN;
}

function pair(first = NaN, second = NaN): Pair | null {
  return Number.isFinite(first) && Number.isFinite(second) ? [first, second] : null;
}
