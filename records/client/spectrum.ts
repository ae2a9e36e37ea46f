// Curves of raw data: looked at closely by dragging, by buttons and by keys, with what was found marked.

import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";

interface Mark {
  x: number;
  label: string;
}

interface Drawn {
  name: string;
  address: string;
  place: string;
  surface: string;
  x: number[];
  y: number[];
  x_unit: string;
  y_unit: string;
  reversed: boolean;
  findings: { code: string; certainty: string; marks: (Mark & { agrees: boolean })[] }[];
}

const SVG = "http://www.w3.org/2000/svg";
const INKS = ["--ink", "--smalt", "--madder", "--verdigris", "--ochre", "--lead"];
const DASHES = [[], [6, 3], [2, 2], [9, 3, 2, 3], [1, 3], [12, 4]];
const STEP = 0.25; // of what is shown, for one press of a button
const LABEL_PX = 11; // labels nearer than that to each other are left out

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
function joined(curves: Drawn[]): uPlot.AlignedData {
  const own = curves.map((curve) => [curve.x, curve.y] as uPlot.AlignedData);
  return own.length === 1 ? own[0]! : uPlot.join(own);
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
    "stroke-dasharray": DASHES[number % DASHES.length]!.join(" "),
  };
  for (const [name, value] of Object.entries(drawn)) stroke.setAttribute(name, value);
  sample.append(stroke);
  const item = document.createElement("li");
  item.append(
    sample,
    ` ${number + 1} `,
    link(curve.address, curve.name),
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

  constructor(private readonly figure: HTMLElement) {
    figure.querySelectorAll<HTMLButtonElement>("[data-spectrum-act]").forEach((button) => {
      button.addEventListener("click", () => this.act(button.dataset["spectrumAct"] ?? "", button));
    });
    figure.querySelector("[data-spectrum-element]")?.addEventListener("change", (event) => {
      void this.showLines((event.target as HTMLInputElement).value);
    });
  }

  async start(): Promise<void> {
    const addresses = (this.figure.dataset["spectrum"] ?? "").split(" ").filter(Boolean);
    for (const found of await Promise.all(addresses.map(fetched))) {
      if (typeof found === "string") this.say(found);
      else this.curves.push(found);
    }
    if (this.curves.length) this.draw();
    window.addEventListener("resize", () => this.fit());
  }

  private get space(): HTMLElement {
    return this.figure.querySelector<HTMLElement>(".spectrum-plot")!;
  }

  private say(words: string): void {
    const at = this.figure.querySelector<HTMLElement>("[data-spectrum-at]");
    if (at) at.textContent = words;
  }

  private draw(): void {
    this.plot?.destroy();
    const [first] = this.curves as [Drawn];
    const ink = token("--ink", "#222");
    const grid = token("--rule", "#ddd");
    const axis = { stroke: ink, grid: { stroke: grid, width: 0.5 }, ticks: { stroke: grid } };
    const value = this.rooted ? (y: number) => Math.sqrt(Math.max(y, 0)) : (y: number) => y;
    const data = joined(this.curves.map((curve) => ({ ...curve, y: curve.y.map(value) })));
    this.plot = new uPlot(
      {
        width: this.space.clientWidth,
        height: Math.min(420, Math.max(240, this.space.clientWidth * 0.45)),
        scales: { x: { time: false, dir: first.reversed ? -1 : 1 } },
        legend: { show: false },
        cursor: { y: false },
        axes: [
          { ...axis, label: first.x_unit, labelSize: 22 },
          { ...axis, label: this.rooted ? `root of ${first.y_unit}` : first.y_unit, size: 64 },
        ],
        series: [
          {},
          ...this.curves.map((curve, number) => ({
            label: curve.name,
            stroke: token(INKS[number % INKS.length]!, ink),
            dash: DASHES[number % DASHES.length]!,
            width: 1,
            spanGaps: true,
            points: { show: false },
          })),
        ],
        hooks: {
          draw: [(plot) => this.mark(plot)],
          setCursor: [(plot) => this.tell(plot)],
        },
      },
      data,
      this.space,
    );
    const names = this.figure.querySelector<HTMLElement>("[data-spectrum-names]");
    if (names && this.curves.length > 1) {
      names.replaceChildren(...this.curves.map((curve, n) => named(curve, n)));
      names.hidden = false;
    }
  }

  // A line for each place that speaks for a finding: solid when sure, broken otherwise.
  private mark(plot: uPlot): void {
    const { ctx, bbox } = plot;
    const ratio = window.devicePixelRatio;
    const drawn: number[] = [];
    const rule = (mark: Mark, dash: number[], colour: string): void => {
      const x = plot.valToPos(mark.x, "x", true);
      if (x < bbox.left || x > bbox.left + bbox.width) return;
      ctx.strokeStyle = ctx.fillStyle = colour;
      ctx.setLineDash(dash);
      ctx.beginPath();
      ctx.moveTo(x, bbox.top);
      ctx.lineTo(x, bbox.top + bbox.height);
      ctx.stroke();
      if (drawn.some((other) => Math.abs(other - x) < LABEL_PX * ratio)) return;
      drawn.push(x);
      ctx.save();
      ctx.translate(x - 2 * ratio, bbox.top + 2 * ratio);
      ctx.rotate(-Math.PI / 2);
      ctx.textAlign = "right";
      ctx.fillText(mark.label, 0, 0);
      ctx.restore();
    };
    ctx.save();
    ctx.lineWidth = ratio * 0.75;
    ctx.font = `${11 * ratio}px "Source Sans 3", sans-serif`;
    this.lines.forEach((line) => rule(line, [], token("--madder", "#933")));
    if (this.curves.length === 1) {
      for (const finding of this.curves[0]!.findings) {
        const dash = finding.certainty === "sure" ? [] : [4 * ratio, 3 * ratio];
        const colour = token("--smalt", "#158");
        finding.marks.filter((mark) => mark.agrees).forEach((mark) => rule(mark, dash, colour));
      }
    }
    ctx.restore();
  }

  private tell(plot: uPlot): void {
    const { idx } = plot.cursor;
    const x = idx == null ? undefined : plot.data[0][idx];
    if (x === undefined) return;
    const values = this.curves.map((_, n) => plot.data[n + 1]?.[idx!]);
    const told = values.map((value) => (value == null ? "–" : value.toPrecision(4))).join(", ");
    this.say(`${x.toFixed(3)} ${this.curves[0]!.x_unit}: ${told}`);
  }

  private act(deed: string, button: HTMLButtonElement): void {
    const plot = this.plot;
    if (!plot) return;
    if (deed === "scale") {
      this.rooted = !this.rooted;
      button.setAttribute("aria-pressed", String(this.rooted));
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
    }[deed] ?? [plot.data[0][0]!, plot.data[0][plot.data[0].length - 1]!];
    const ends = [plot.data[0][0]!, plot.data[0][plot.data[0].length - 1]!] as const;
    plot.setScale("x", { min: Math.max(low!, ends[0]), max: Math.min(high!, ends[1]) });
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
