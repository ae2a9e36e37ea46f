// Curves of raw data: looked at closely with mouse, fingers and keys, with what was found marked.

import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";

interface Mark {
  x: number;
  label: string;
}

interface Found {
  code: string;
  certainty: string;
  marks: { x: number; word: string; height: number | null; agrees: boolean }[];
}

interface Drawn {
  name: string;
  of: string;
  address: string;
  place: string;
  surface: string;
  x: number[];
  y: number[];
  x_unit: string;
  x_axis: string;
  y_unit: string;
  reversed: boolean;
  background: { x: number[]; y: number[] } | null;
  findings: Found[];
  unexplained: { x: number }[];
}

const SVG = "http://www.w3.org/2000/svg";
const INKS = ["--ink", "--smalt", "--madder", "--verdigris", "--ochre", "--lead"];
const DASHES = [[], [6, 3], [2, 2], [9, 3, 2, 3], [1, 3], [12, 4]];
const MANY = 5; // curves are set apart from the first on
const EACH_PX = 72; // of height for each that is set apart
const STEP = 0.25; // of what is shown, for one press of a button
const LABEL_PX = 11; // labels nearer than that to each other are left out
const STROKES: Record<string, number[]> = { sure: [], likely: [6, 3], possible: [1.5, 3] };
const AT_ONCE = 3; // places of each finding that are marked while none is chosen
const APART = 1.1; // of its own height from one curve to the next, when they are set apart
const NEAREST = 20; // values that are still shown when one looks closest

// Another colour for each curve, and once these are used up another dash to each colour.
function dash(number: number): number[] {
  return DASHES[(number + Math.floor(number / INKS.length)) % DASHES.length]!;
}

// A token as a colour that a canvas understands, in the appearance that is on.
function token(name: string, otherwise: string): string {
  const probe = document.createElement("span");
  probe.style.color = `var(${name}, ${otherwise})`;
  document.body.append(probe);
  const colour = getComputedStyle(probe).color;
  probe.remove();
  return colour;
}

async function fetched(address: string): Promise<Drawn | string> {
  const answer = await fetch(address, { headers: { Accept: "application/json" } });
  const data = (await answer.json()) as Drawn & { error?: string };
  return data.error ?? data;
}

// Several curves seldom share their places: each is read off at the places of all.
function joined(curves: { x: number[]; y: number[] }[]): uPlot.AlignedData {
  const own = curves.map((curve) => [curve.x, curve.y] as uPlot.AlignedData);
  return own.length === 1 ? own[0]! : uPlot.join(own);
}

// A curve brought to its own height.
function levelled(y: number[]): number[] {
  const low = y.reduce((least, value) => Math.min(least, value), Infinity);
  const span = y.reduce((most, value) => Math.max(most, value), -Infinity) - low || 1;
  return y.map((value) => (value - low) / span);
}

// A curve's stroke as it is drawn, its analysis, and its point on the surface.
function named(curve: Drawn, number: number): HTMLLIElement {
  const sample = document.createElementNS(SVG, "svg");
  sample.setAttribute("width", "36");
  sample.setAttribute("height", "10");
  sample.setAttribute("aria-hidden", "true");
  const stroke = document.createElementNS(SVG, "line");
  const drawn = {
    x2: "36",
    y1: "5",
    y2: "5",
    stroke: token(INKS[number % INKS.length]!, "#222"),
    "stroke-width": "2",
    "stroke-dasharray": dash(number).join(" "),
  };
  for (const [name, value] of Object.entries(drawn)) stroke.setAttribute(name, value);
  sample.append(stroke);
  const item = document.createElement("li");
  item.append(
    sample,
    ` ${number + 1} `,
    link(curve.address, curve.of),
    " · ",
    link(curve.surface, `${curve.place} on the surface`),
  );
  return item;
}

function link(address: string, words: string): HTMLAnchorElement {
  const made = document.createElement("a");
  made.href = address;
  made.textContent = words;
  return made;
}

class Spectrum {
  private plot: uPlot | undefined;
  private curves: Drawn[] = [];
  private lines: Mark[] = [];
  private rooted = false;
  private apart = false;
  private closer = false;
  private chosen = new Set<string>();
  private readonly fingers = new Map<number, { at: number; held: number }>();

  constructor(private readonly figure: HTMLElement) {
    figure.querySelectorAll<HTMLButtonElement>("[data-spectrum-act]").forEach((button) => {
      button.addEventListener("click", () => this.act(button.dataset["spectrumAct"] ?? "", button));
    });
    figure.querySelector("[data-spectrum-element]")?.addEventListener("change", (event) => {
      void this.showLines((event.target as HTMLInputElement).value);
    });
    this.space.addEventListener("keydown", (event) => this.key(event));
    this.space.addEventListener("wheel", (event) => this.pinch(event), { passive: false });
    for (const kind of ["pointerdown", "pointermove", "pointerup", "pointercancel"] as const) {
      this.space.addEventListener(kind, (event) => this.touch(event));
    }
    document.addEventListener("click", (event) => {
      const button = (event.target as Element).closest<HTMLButtonElement>("[data-spectrum-show]");
      if (button) this.choose(button);
    });
    // What an evaluation has found is drawn as soon as it is there.
    document.addEventListener("htmx:afterSettle", (event) => {
      const part = event.target as Element;
      if (part.id === "evaluation-part" && !part.hasAttribute("hx-get")) void this.start();
    });
    window.addEventListener("resize", () => this.fit());
  }

  async start(): Promise<void> {
    const addresses = (this.figure.dataset["spectrum"] ?? "").split(" ").filter(Boolean);
    const curves: Drawn[] = [];
    for (const found of await Promise.all(addresses.map(fetched))) {
      if (typeof found === "string") this.say(found);
      else curves.push(found);
    }
    this.curves = curves;
    if (curves.length >= MANY) {
      this.apart = true;
      this.figure.querySelector("[data-spectrum-act=apart]")?.setAttribute("aria-pressed", "true");
    }
    if (curves.length) this.draw();
  }

  private get space(): HTMLElement {
    return this.figure.querySelector<HTMLElement>(".spectrum-plot")!;
  }

  private say(words: string): void {
    const at = this.figure.querySelector<HTMLElement>("[data-spectrum-at]");
    if (at) at.textContent = words;
  }

  // The heights as they are shown: as measured, as their root, or each curve above the next one.
  private shown(y: number[], number: number): number[] {
    const rooted = this.rooted ? y.map((value) => Math.sqrt(Math.max(value, 0))) : y;
    if (!this.apart) return rooted;
    const foot = APART * (this.curves.length - 1 - number);
    return levelled(rooted).map((value) => value + foot);
  }

  private draw(): void {
    this.plot?.destroy();
    const [first] = this.curves as [Drawn];
    const ink = token("--ink", "#222");
    const grid = token("--rule", "#ddd");
    const font = '12px "Source Sans 3", sans-serif';
    const axis = {
      stroke: ink,
      grid: { stroke: grid, width: 0.5 },
      ticks: { stroke: grid },
      font,
      labelFont: font,
    };
    const height = this.rooted ? `root of ${first.y_unit}` : first.y_unit;
    const usual = Math.min(420, Math.max(240, this.space.clientWidth * 0.45));
    const under = this.curves.length === 1 ? first.background : null;
    const drawn = this.curves.map((curve, n) => ({ x: curve.x, y: this.shown(curve.y, n) }));
    if (under) drawn.push({ x: under.x, y: this.shown(under.y, 0) });
    const stroke = { width: 1, spanGaps: true, points: { show: false } };
    this.plot = new uPlot(
      {
        width: this.space.clientWidth,
        height: Math.max(usual, this.apart ? EACH_PX * this.curves.length : 0),
        scales: { x: { time: false, dir: first.reversed ? -1 : 1 } },
        legend: { show: false },
        cursor: { y: false },
        axes: [
          { ...axis, label: first.x_axis, labelSize: 22 },
          this.apart
            ? { ...axis, label: `${height}, each to its own height`, size: 40, values: () => [] }
            : { ...axis, label: height, size: 64 },
        ],
        series: [
          {},
          ...this.curves.map((curve, number) => ({
            ...stroke,
            label: curve.name,
            stroke: token(INKS[number % INKS.length]!, ink),
            dash: this.apart ? [] : dash(number),
          })),
          ...(under
            ? [{ ...stroke, label: "background", stroke: token("--lead", "#888"), dash: [6, 3] }]
            : []),
        ],
        hooks: {
          draw: [(plot) => this.mark(plot)],
          setCursor: [(plot) => this.tell(plot)],
          setScale: [(plot, key) => key === "x" && this.tellSpan(plot)],
        },
      },
      joined(drawn),
      this.space,
    );
    const names = this.figure.querySelector<HTMLElement>("[data-spectrum-names]");
    if (names && this.curves.length > 1) {
      names.replaceChildren(...this.curves.map((curve, n) => named(curve, n)));
      names.hidden = false;
    }
    const key = this.figure.querySelector<HTMLElement>("[data-spectrum-key]");
    if (key) key.hidden = !(this.curves.length === 1 && (under || first.findings.length));
  }

  // Places that speak for findings: of those chosen all, else the highest few of each. The highest
  // come first where there is no room for all names.
  private get found(): { x: number; label: string; certainty: string }[] {
    const [first] = this.curves as [Drawn];
    if (this.curves.length > 1) return [];
    const ranked = first.findings
      .filter((finding) => !this.chosen.size || this.chosen.has(finding.code))
      .flatMap((finding) =>
        finding.marks
          .filter((mark) => mark.agrees)
          .sort((one, other) => (other.height ?? 0) - (one.height ?? 0))
          .slice(0, this.chosen.size ? undefined : AT_ONCE)
          .map((mark, rank) => ({ ...mark, label: mark.word, certainty: finding.certainty, rank })),
      );
    return ranked.sort((one, other) => one.rank - other.rank);
  }

  // A line for each place: unbroken when sure, dashed when likely, dotted when possible.
  private mark(plot: uPlot): void {
    const { ctx, bbox } = plot;
    const ratio = window.devicePixelRatio;
    const drawn: number[] = [];
    const rule = (mark: Mark, dash: number[], colour: string): void => {
      const x = plot.valToPos(mark.x, "x", true);
      if (x < bbox.left || x > bbox.left + bbox.width) return;
      ctx.strokeStyle = ctx.fillStyle = colour;
      ctx.setLineDash(dash.map((length) => length * ratio));
      ctx.beginPath();
      ctx.moveTo(x, bbox.top);
      ctx.lineTo(x, bbox.top + bbox.height);
      ctx.stroke();
      if (drawn.some((other) => Math.abs(other - x) < LABEL_PX * ratio)) return;
      drawn.push(x);
      ctx.save();
      ctx.translate(x - 3 * ratio, bbox.top + 2 * ratio);
      ctx.rotate(-Math.PI / 2);
      ctx.textAlign = "right";
      // A rim of paper, so that the name reads over the curve.
      ctx.setLineDash([]);
      ctx.lineWidth = 2 * ratio;
      ctx.strokeStyle = token("--paper", "#fff");
      ctx.strokeText(mark.label, 0, 0);
      ctx.fillText(mark.label, 0, 0);
      ctx.restore();
    };
    ctx.save();
    ctx.lineWidth = ratio * 0.75;
    ctx.font = `${11 * ratio}px "Source Sans 3", sans-serif`;
    if (this.apart) {
      // Hardly anything stands at high energies, angles and wavenumbers.
      const first = this.curves[0]!.reversed;
      ctx.textAlign = first ? "left" : "right";
      this.curves.forEach((curve, n) => {
        ctx.fillStyle = token(INKS[n % INKS.length]!, "#222");
        const y = plot.valToPos(APART * (this.curves.length - 1 - n) + 0.5, "y", true);
        ctx.fillText(`${n + 1} ${curve.of}`, first ? bbox.left : bbox.left + bbox.width, y);
      });
    }
    this.lines.forEach((line) => rule(line, [], token("--madder", "#933")));
    const smalt = token("--smalt", "#158");
    for (const mark of this.found) rule(mark, STROKES[mark.certainty] ?? [], smalt);
    if (this.curves.length === 1 && !this.chosen.size) {
      const madder = token("--madder", "#933");
      this.curves[0]!.unexplained.forEach(({ x }) => rule({ x, label: "?" }, [1.5, 3], madder));
    }
    ctx.restore();
  }

  private tell(plot: uPlot): void {
    const { idx } = plot.cursor;
    const x = idx == null ? undefined : plot.data[0][idx];
    if (x === undefined || this.apart) return;
    const values = this.curves.map((_, n) => plot.data[n + 1]?.[idx!]);
    const told = values.map((value) => (value == null ? "–" : value.toPrecision(4))).join(", ");
    this.say(`${x.toFixed(3)} ${this.curves[0]!.x_unit}: ${told}`);
  }

  // Lines of one finding, or of several, in place of the highest of all.
  private choose(button: HTMLButtonElement): void {
    const code = button.dataset["spectrumShow"] ?? "";
    if (!this.chosen.delete(code)) this.chosen.add(code);
    button.setAttribute("aria-pressed", String(this.chosen.has(code)));
    this.plot?.redraw();
  }

  private key(event: KeyboardEvent): void {
    const deed = { ArrowLeft: "left", ArrowRight: "right", "+": "in", "=": "in", "-": "out", "0": "all" }[
      event.key
    ];
    if (!deed || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    event.stopPropagation();
    this.act(deed);
  }

  // A trackpad's pinch comes as a wheel with the control key held.
  private pinch(event: WheelEvent): void {
    if (!this.plot || !event.ctrlKey) return;
    event.preventDefault();
    const { min, max } = this.plot.scales["x"]!;
    const at = this.plot.posToVal(event.clientX - this.plot.over.getBoundingClientRect().left, "x");
    const by = Math.exp(event.deltaY / 100);
    this.look(at + (min! - at) * by, at + (max! - at) * by);
  }

  // What lies under a finger stays under it: one moves the curve, two stretch it.
  private touch(event: PointerEvent): void {
    const plot = this.plot;
    if (!plot || event.pointerType !== "touch") return;
    const at = event.clientX - plot.over.getBoundingClientRect().left;
    if (event.type === "pointerdown" && plot.over.contains(event.target as Node)) {
      this.fingers.set(event.pointerId, { at, held: 0 });
    } else if (event.type === "pointermove") {
      const finger = this.fingers.get(event.pointerId);
      if (!finger) return;
      finger.at = at;
      const part = (x: number): number =>
        this.curves[0]!.reversed ? 1 - x / plot.over.clientWidth : x / plot.over.clientWidth;
      const { min, max } = plot.scales["x"]!;
      const [one, other] = [...this.fingers.values()] as [{ at: number; held: number }, typeof finger?];
      const gap = other ? part(other.at) - part(one.at) : 0;
      const span = other && Math.abs(gap) > 0.05 ? (other.held - one.held) / gap : max! - min!;
      if (span > 0) this.look(one.held - part(one.at) * span, one.held + (1 - part(one.at)) * span);
      return;
    } else {
      this.fingers.delete(event.pointerId);
    }
    this.fingers.forEach((finger) => (finger.held = plot.posToVal(finger.at, "x")));
  }

  private act(deed: string, button?: HTMLButtonElement): void {
    const plot = this.plot;
    if (!plot) return;
    if (deed === "scale" || deed === "apart") {
      const on = deed === "scale" ? (this.rooted = !this.rooted) : (this.apart = !this.apart);
      button?.setAttribute("aria-pressed", String(on));
      this.draw();
      return;
    }
    const { min, max } = plot.scales["x"]!;
    if (min == null || max == null) return;
    const span = max - min;
    const way = this.curves[0]!.reversed ? -1 : 1;
    const [low, high] = {
      in: [min + span * STEP, max - span * STEP],
      out: [min - span * STEP * 2, max + span * STEP * 2],
      left: [min - way * span * STEP, max - way * span * STEP],
      right: [min + way * span * STEP, max + way * span * STEP],
    }[deed] ?? [-Infinity, Infinity];
    this.look(low!, high!);
  }

  // From one place to another: not beyond the ends, and not closer than a few values.
  private look(low: number, high: number): void {
    const places = this.plot!.data[0];
    const [first, last] = [places[0]!, places[places.length - 1]!];
    const span = Math.min(high - low, last - first);
    if (span < ((last - first) * NEAREST) / places.length) return;
    const from = Math.min(Math.max(low, first), last - span);
    this.plot!.setScale("x", { min: from, max: from + span });
  }

  // From where to where the curve is shown, however one came to look closer, and once at the whole.
  private tellSpan(plot: uPlot): void {
    const { min, max } = plot.scales["x"]!;
    const places = plot.data[0];
    const whole = min === places[0] && max === places[places.length - 1];
    if (min == null || max == null || (whole && !this.closer)) return;
    this.closer = !whole;
    const told = this.figure.querySelector<HTMLElement>("[data-spectrum-span]");
    if (told) told.textContent = `${min.toFixed(2)} to ${max.toFixed(2)} ${this.curves[0]!.x_unit}`;
  }

  private async showLines(symbol: string): Promise<void> {
    this.lines = [];
    if (symbol.trim()) {
      const answer = await fetch(`/lines-of-element/${encodeURIComponent(symbol.trim())}/`);
      const told = (await answer.json()) as { lines?: Mark[]; error?: string };
      this.lines = told.lines ?? [];
      if (told.error) this.say(told.error);
    }
    this.plot?.redraw();
  }

  private fit(): void {
    this.plot?.setSize({ width: this.space.clientWidth, height: this.plot.height });
  }
}

document.querySelectorAll<HTMLElement>("[data-spectrum]").forEach((figure) => {
  void new Spectrum(figure).start();
});
