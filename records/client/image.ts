// One image at any size: its IIIF tiles, moved and brought closer by hand and by keys, and the window
// of values that are shown.
//
// What a new window does is seen at once by spreading the tiles that there are; once it is kept, the
// program makes the tiles anew from the full depth of the original.

import "ol/ol.css";
import Map from "ol/Map";
import View from "ol/View";
import { defaults as controls } from "ol/control";
import KeyboardPan from "ol/interaction/KeyboardPan";
import KeyboardZoom from "ol/interaction/KeyboardZoom";
import { defaults as interactions } from "ol/interaction";
import IIIFInfo from "ol/format/IIIFInfo";
import TileLayer from "ol/layer/Tile";
import IIIF from "ol/source/IIIF";

type Pair = [low: number, high: number];

interface SetUp {
  tiles: string;
  takesWindow: boolean;
  histogram: { low: number; high: number; counts: number[]; dark: number; light: number } | null;
  window: Pair | null;
  whole: boolean;
}

function part<T extends HTMLElement>(id: string): T | null {
  return document.getElementById(id) as T | null;
}

async function view(target: HTMLElement, setUp: SetUp): Promise<void> {
  const answer = await fetch(`${setUp.tiles}/info.json`);
  const options = new IIIFInfo(await answer.json()).getTileSourceOptions();
  if (!options?.size) {
    target.textContent = "The tiles of this image cannot be read.";
    return;
  }
  const source = new IIIF({ ...options, transition: 0, zDirection: -1 });
  const grid = source.getTileGrid();
  if (!grid) return;
  const [width = 1, height = 1] = options.size as [number, number];
  const extent = [0, -height, width, 0];
  const layer = new TileLayer({ source, className: "picture" });
  const map = new Map({
    target,
    layers: [layer],
    controls: controls({ attribution: false, rotate: false }),
    interactions: interactions({ altShiftDragRotate: false, pinchRotate: false, keyboard: false }).extend([
      new KeyboardPan(),
      new KeyboardZoom(),
    ]),
    keyboardEventTarget: target,
    view: new View({
      resolutions: grid.getResolutions(),
      extent,
      constrainOnlyCenter: true,
      constrainResolution: false,
      enableRotation: false,
      showFullExtent: true,
      minResolution: 0.125,
      maxResolution: Math.max(width, height) / 200,
    }),
  });
  const whole = (): void => map.getView().fit(extent, { size: map.getSize() ?? [800, 600], padding: [10, 10, 10, 10] });
  whole();
  target.addEventListener("keydown", (event) => {
    if (event.key === "0") whole();
    if (event.key === "1") map.getView().setResolution(1);
  });
  const scale = part("viewer-scale");
  const pixel = part("viewer-pixel");
  const tell = (): void => {
    const share = 100 / (map.getView().getResolution() ?? 1);
    if (scale) scale.textContent = `${share < 10 ? share.toFixed(1) : Math.round(share)} % of full size`;
  };
  map.on("moveend", tell);
  map.on("pointermove", ({ coordinate: [x = 0, y = 0] }) => {
    const inside = x >= 0 && x < width && -y >= 0 && -y < height;
    if (pixel) pixel.textContent = inside ? `pixel ${Math.floor(x)} from the left, ${Math.floor(-y)} from the top` : "";
  });
  map.once("rendercomplete", () => target.setAttribute("data-ready", "yes"));
}

// The values of the window, and the picture spread accordingly.
class Handles {
  private readonly low = part<HTMLInputElement>("window-low")!;
  private readonly high = part<HTMLInputElement>("window-high")!;
  private readonly lowSlide = part<HTMLInputElement>("window-low-slide")!;
  private readonly highSlide = part<HTMLInputElement>("window-high-slide")!;
  private readonly canvas = part<HTMLCanvasElement>("window-histogram")!;
  private readonly full: Pair;
  private readonly slope: SVGElement[];

  constructor(
    private readonly setUp: SetUp,
    private readonly viewer: HTMLElement | null,
  ) {
    const { low, high } = setUp.histogram!;
    this.full = [low, high];
    this.slope = filter();
    const step = setUp.whole ? "1" : String((high - low) / 1000);
    for (const [slide, number] of [
      [this.lowSlide, this.low],
      [this.highSlide, this.high],
    ] as const) {
      slide.min = String(low);
      slide.max = String(high);
      slide.step = step;
      slide.addEventListener("input", () => {
        number.value = slide.value;
        this.show();
      });
      number.addEventListener("input", () => this.show());
    }
    part("window-own")?.addEventListener("click", () => this.leave());
    part("window-full")?.addEventListener("click", () => this.set(this.full));
    if (!setUp.window) this.set(this.full);
    this.show();
  }

  private set([low, high]: Pair): void {
    this.low.value = String(low);
    this.high.value = String(high);
    this.show();
  }

  // Empty fields let the program choose.
  private leave(): void {
    const { dark, light } = this.setUp.histogram!;
    this.set([dark, light]);
    this.low.value = this.high.value = "";
  }

  private show(): void {
    const low = Number(this.low.value);
    const high = Number(this.high.value);
    this.lowSlide.value = this.low.value;
    this.highSlide.value = this.high.value;
    this.draw(low, high);
    this.high.setCustomValidity(high > low ? "" : "White has to be a higher value than black.");
    if (!(high > low) || !this.viewer) return;
    // The tiles show this.setUp.window (or the whole depth) as 0 to 1.
    const depth = this.setUp.histogram!.high <= 255 && this.setUp.whole ? 255 : 65535;
    const [black, white] = this.setUp.window ?? [0, depth];
    const slope = (white - black) / (high - low);
    const intercept = (black - low) / (high - low);
    for (const element of this.slope) {
      element.setAttribute("slope", String(slope));
      element.setAttribute("intercept", String(intercept));
    }
    const same = Math.abs(slope - 1) < 1e-6 && Math.abs(intercept) < 1e-6;
    this.viewer.style.setProperty("--spread", same ? "none" : "url(#spread)");
  }

  private draw(low: number, high: number): void {
    const pen = this.canvas.getContext("2d");
    if (!pen) return;
    const { counts } = this.setUp.histogram!;
    const { width, height } = this.canvas;
    const most = Math.log1p(Math.max(...counts));
    const [from, to] = this.full;
    pen.clearRect(0, 0, width, height);
    pen.fillStyle = getComputedStyle(this.canvas).color;
    counts.forEach((count, index) => {
      const value = from + ((index + 0.5) / counts.length) * (to - from);
      pen.globalAlpha = value >= low && value <= high ? 0.9 : 0.25;
      const tall = (Math.log1p(count) / most) * height;
      pen.fillRect((index * width) / counts.length, height - tall, width / counts.length, tall);
    });
    pen.globalAlpha = 1;
  }
}

// A filter that spreads what the canvas shows; the browser applies it without reading the pixels.
function filter(): SVGElement[] {
  const make = (name: string): SVGElement => document.createElementNS("http://www.w3.org/2000/svg", name);
  const svg = make("svg");
  svg.setAttribute("width", "0");
  svg.setAttribute("height", "0");
  svg.setAttribute("aria-hidden", "true");
  const spread = make("filter");
  spread.id = "spread";
  spread.setAttribute("color-interpolation-filters", "sRGB");
  const transfer = make("feComponentTransfer");
  const slopes = ["feFuncR", "feFuncG", "feFuncB"].map(make);
  for (const slope of slopes) slope.setAttribute("type", "linear");
  transfer.append(...slopes);
  spread.append(transfer);
  svg.append(spread);
  document.body.append(svg);
  return slopes;
}

const text = document.getElementById("viewer-set-up")?.textContent;
const viewer = part("viewer");
if (text && viewer) {
  const setUp = JSON.parse(text) as SetUp;
  if (setUp.tiles) void view(viewer, setUp);
  if (setUp.takesWindow && setUp.histogram && part("window")) new Handles(setUp, viewer);
}
