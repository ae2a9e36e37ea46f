// The timeline: drawn by the server at the width there is, moved by dragging, lit by what is asked.

const MOST_OFF_PX = 24; // a difference in width not worth drawing again for
const DRAG_PX = 6; // movement from which a press is a drag

function sheet(): HTMLElement | null {
  return document.querySelector<HTMLElement>(".timeline-sheet");
}

function field(name: string): HTMLInputElement | null {
  return document.querySelector<HTMLInputElement>(`#history-filter [name="${name}"]`);
}

function draw(values: Record<string, string>): void {
  for (const [name, value] of Object.entries(values)) {
    const input = field(name);
    if (input) input.value = value;
  }
  const form = document.querySelector<HTMLFormElement>("#history-filter");
  form?.dispatchEvent(new Event("change", { bubbles: true }));
}

let asked = 0; // the width last asked for: the server may refuse one that is too narrow or too wide

function fit(): void {
  const space = sheet();
  const drawn = Number(document.getElementById("timeline")?.dataset["width"] ?? 0);
  if (!space || !drawn) return;
  const width = Math.round(space.clientWidth);
  if (width === asked || Math.abs(width - drawn) <= MOST_OFF_PX) return;
  asked = width;
  draw({ width: String(width) });
}

// What bears on the thing asked about is marked wherever it is drawn or listed.
function lightBearing(): void {
  const told = document.querySelector<HTMLElement>("#grounds [data-bears]");
  const bears = new Set((told?.dataset["bears"] ?? "").split(" "));
  document.querySelectorAll<HTMLElement | SVGElement>("[data-entity]").forEach((row) => {
    row.classList.toggle("bears", bears.has(row.dataset["entity"] ?? ""));
  });
}

// A sentence lights up the place of what it speaks of.
function lightPlace(event: Event): void {
  const trace = (event as CustomEvent<string>).detail;
  document.querySelectorAll<SVGElement>(".place-mark").forEach((mark) => {
    mark.classList.toggle("lit", trace !== "" && mark.dataset["trace"] === trace);
  });
}

function step(code: string): void {
  document.querySelector<HTMLElement>(`[data-step="${code}"]:not([aria-disabled])`)?.click();
}

// Dragging moves by quarters, like the buttons; a wheel with Ctrl comes closer or goes wider.
function startDragging(): void {
  let from: number | null = null;
  let dragged = false;
  document.addEventListener("pointerdown", (event) => {
    dragged = false;
    from = event.target instanceof Element && event.target.closest(".timeline-sheet") ? event.clientX : null;
  });
  document.addEventListener("pointermove", (event) => {
    if (from !== null && Math.abs(event.clientX - from) > DRAG_PX) dragged = true;
  });
  document.addEventListener("pointerup", (event) => {
    const space = sheet();
    if (from === null || !dragged || !space) return;
    const moved = event.clientX - from;
    from = null;
    if (Math.abs(moved) > space.clientWidth / 12) step(moved > 0 ? "earlier" : "later");
  });
  document.addEventListener(
    "click",
    (event) => {
      if (!dragged) return;
      dragged = false;
      if (event.target instanceof Element && event.target.closest(".timeline-sheet")) {
        event.preventDefault();
        event.stopPropagation();
      }
    },
    { capture: true },
  );
  document.addEventListener(
    "wheel",
    (event) => {
      if (!event.ctrlKey || !(event.target instanceof Element) || !event.target.closest(".timeline-sheet")) return;
      event.preventDefault();
      step(event.deltaY < 0 ? "closer" : "wider");
    },
    { passive: false },
  );
}

let waiting = 0;
addEventListener("resize", () => {
  clearTimeout(waiting);
  waiting = setTimeout(fit, 200);
});
document.addEventListener("htmx:afterSwap", lightBearing);
document.addEventListener("antequem:light", lightPlace);
// The slider follows where a step leads.
document.addEventListener("click", (event) => {
  const step = event.target instanceof Element ? event.target.closest<HTMLElement>("[data-at]") : null;
  const slider = document.querySelector<HTMLInputElement>(".day-choice [name='at']");
  if (step && slider) slider.value = step.dataset["at"] ?? "";
});
document.addEventListener("htmx:load", fit, { once: true }); // not before htmx listens to the form
startDragging();
