// The panel of grounds: what the thing just asked about rests on.
//
// Whatever has `hx-target="#grounds"` fills it. On narrow screens it is a sheet from below, open
// while it has something to say. Anything with `data-trace` in the panel or on the page lights up
// that trace wherever it is drawn (event `antequem:light`).

const NARROW = matchMedia("(width < 64rem)");

let asked: HTMLElement | null = null;

function panel(): HTMLElement | null {
  return document.getElementById("grounds-panel");
}

function mark(element: HTMLElement | null): void {
  document.querySelectorAll("[hx-target='#grounds'][aria-current]").forEach((old) => {
    old.removeAttribute("aria-current");
  });
  element?.setAttribute("aria-current", "true");
  asked = element;
}

export function openGrounds(): void {
  panel()?.classList.add("open");
  if (NARROW.matches) document.getElementById("grounds-name")?.focus({ preventScroll: true });
}

export function closeGrounds(): void {
  panel()?.classList.remove("open");
  asked?.focus();
  mark(null);
}

function lit(target: EventTarget | null): string {
  const element = target instanceof Element ? target.closest<HTMLElement>("[data-trace]") : null;
  return element?.dataset["trace"] ?? "";
}

function light(trace: string): void {
  document.dispatchEvent(new CustomEvent<string>("antequem:light", { detail: trace }));
}

export function startGrounds(): void {
  if (!panel()) return;
  document.addEventListener("htmx:afterSwap", (event) => {
    const { target, requestConfig } = (event as CustomEvent).detail as {
      target: HTMLElement;
      requestConfig?: { elt?: HTMLElement };
    };
    if (target.id !== "grounds") return;
    mark(requestConfig?.elt ?? null);
    target.closest(".grounds-leaf")?.scrollTo({ top: 0 });
    openGrounds();
  });
  document.addEventListener("click", (event) => {
    if (event.target instanceof Element && event.target.closest("[data-grounds-close]")) closeGrounds();
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && panel()?.contains(document.activeElement)) closeGrounds();
  });
  for (const [begin, end] of [
    ["mouseover", "mouseout"],
    ["focusin", "focusout"],
  ] as const) {
    document.addEventListener(begin, (event) => {
      const trace = lit(event.target);
      if (trace) light(trace);
    });
    document.addEventListener(end, (event) => {
      if (lit(event.target)) light("");
    });
  }
}
