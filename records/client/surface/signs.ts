// How records are drawn on the map: family by hue, kind by pattern and short label, as in print.
// Solid is what was seen, hatched what is unclear, a bare broken edge what is no longer seen.
// Everything has a pale casing under it and so reads over a dark picture and over a pale one.

import type { FeatureLike } from "ol/Feature";
import { DEVICE_PIXEL_RATIO } from "ol/has";
import { getHeight, getWidth } from "ol/extent";
import { Circle, Fill, Icon, Stroke, Style, Text } from "ol/style";
import type { Family, Kind, Signs, State } from "./setup";

// The hues of print: the map lies on pictures, not on the page, so it is the same in the dark.
const HUES: Record<Family, string> = { alteration: "#8e2a33", intervention: "#1f4e86", making: "#6d5312" };
const CASING = "rgba(255, 255, 255, 0.88)";
const INK = "#1d1b18";
const SAMPLE = "#14594a";
const PX_PER_MM = 5.5; // of the sizes given for print
const LABELLED_PX = 80; // a shape smaller than this on the screen carries no label ...
const LABELLED_MM_PER_PX = 0.3; // ... until the map is as close as this
const COVERS = 0.12; // an area larger than this share of the face is drawn by its edge alone
const FONT = '600 12px "Source Sans 3", sans-serif';

export type Emphasis = "" | "lit" | "chosen";

export class Painter {
  private readonly kinds: Map<number, Kind>;
  private readonly patterns = new Map<string, CanvasPattern | string>();
  private readonly glyphs = new Map<string, HTMLCanvasElement>();

  withGone = false; // whether what is no longer seen is drawn

  constructor(
    kinds: Kind[],
    private readonly signs: Signs,
    private readonly faceArea: number,
  ) {
    this.kinds = new Map(kinds.map((kind) => [kind.id, kind]));
  }

  // The styles of one trace at so many mm a pixel.
  trace(feature: FeatureLike, resolution: number, emphasis: Emphasis): Style[] {
    const family = feature.get("family") as Family;
    const many = feature.get("many") as number | undefined;
    if (many) return this.gathered(family, many);
    const kind = this.kinds.get(feature.get("kind") as number);
    const index = kind?.index ?? 0;
    const state = feature.get("state") as State;
    const extent = feature.getGeometry()?.getExtent();
    if (!extent || (state === "not_seen" && !this.withGone && !emphasis)) return [];
    const covers = (getWidth(extent) * getHeight(extent)) / this.faceArea > COVERS;
    const type = feature.getGeometry()?.getType() ?? "";
    const styles = this.shape(type, family, index, state, emphasis, covers);
    const size = Math.max(getWidth(extent), getHeight(extent)) / resolution;
    if ((size >= LABELLED_PX && !covers) || resolution < LABELLED_MM_PER_PX || emphasis) {
      styles.push(this.label(`${feature.get("short")} ${feature.get("number")}`, HUES[family], !!emphasis));
    }
    return styles;
  }

  private shape(type: string, family: Family, index: number, state: State, emphasis: Emphasis, covers: boolean): Style[] {
    const zIndex = emphasis === "chosen" ? 3 : emphasis ? 2 : type.includes("Polygon") ? 0 : 1;
    const hue = HUES[family];
    const wide = emphasis ? 4 : 0;
    const around = emphasis
      ? [new Style({ zIndex, stroke: new Stroke({ color: INK, width: 6 + wide }) })]
      : [];
    if (type.includes("Point")) {
      return [new Style({ zIndex, image: this.point(family, index, state, emphasis) })];
    }
    if (type.includes("Line")) return [...around, ...this.line(hue, index, state, wide, zIndex)];
    const bare = state === "not_seen" || (covers && !emphasis);
    const fill = bare ? "rgba(255, 255, 255, 0.01)" : this.pattern(family, index, state);
    const edge = new Stroke({ color: hue, width: emphasis ? 2.4 : 1.4, ...broken(state) });
    return [
      ...around,
      new Style({ zIndex, stroke: new Stroke({ color: CASING, width: 3.4 + wide }) }),
      new Style({ zIndex, fill: new Fill({ color: fill }), stroke: edge }),
    ];
  }

  private line(hue: string, index: number, state: State, wide: number, zIndex: number): Style[] {
    const [width, across, acrossWidth, cap] = this.signs.lines[index % this.signs.lines.length] ?? [0.35, "", 0, ""];
    const styles = [
      new Style({ zIndex, stroke: new Stroke({ color: CASING, width: 5 + wide }) }),
      new Style({
        zIndex,
        stroke: new Stroke({ color: hue, width: Math.max(1.4, width * PX_PER_MM) + (wide ? 0.8 : 0), ...broken(state) }),
      }),
    ];
    if (across && state === "seen") {
      styles.push(
        new Style({
          zIndex,
          stroke: new Stroke({
            color: hue,
            width: acrossWidth * PX_PER_MM,
            lineDash: across.split(" ").map((part) => Math.max(0.01, Number(part) * PX_PER_MM)),
            lineCap: cap || "butt",
          }),
        }),
      );
    }
    return styles;
  }

  private point(family: Family, index: number, state: State, emphasis: Emphasis): Icon {
    const key = `${family} ${index % this.signs.points.length} ${state} ${emphasis}`;
    let canvas = this.glyphs.get(key);
    if (!canvas) {
      const half = emphasis ? 17 : 12;
      canvas = board(half * 2);
      const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
      pen.scale(DEVICE_PIXEL_RATIO, DEVICE_PIXEL_RATIO);
      pen.translate(half, half);
      if (emphasis) {
        pen.strokeStyle = INK;
        pen.lineWidth = 2;
        pen.beginPath();
        pen.arc(0, 0, half - 2, 0, 7);
        pen.stroke();
      }
      pen.scale(PX_PER_MM * 1.1, PX_PER_MM * 1.1);
      const glyph = new Path2D(this.signs.points[index % this.signs.points.length] ?? "");
      pen.strokeStyle = CASING;
      pen.lineWidth = 1;
      pen.stroke(glyph);
      pen.fillStyle = state === "seen" ? HUES[family] : CASING;
      pen.fill(glyph);
      pen.strokeStyle = HUES[family];
      pen.lineWidth = 0.3;
      if (state === "not_seen") pen.setLineDash([0.4, 0.35]);
      pen.stroke(glyph);
      if (state === "unclear") hatch(pen, glyph, HUES[family]);
      this.glyphs.set(key, canvas);
    }
    return new Icon({ img: canvas, scale: 1 / DEVICE_PIXEL_RATIO });
  }

  // A fill: the pattern of the kind where it was seen, hatching where that is unclear.
  private pattern(family: Family, index: number, state: State): CanvasPattern | string {
    const drawing = state === "seen" ? (this.signs.areas[index % this.signs.areas.length] ?? "") : "";
    const key = `${family} ${drawing}`;
    let made = this.patterns.get(key);
    if (!made) {
      made = drawing ? tile(drawing, this.signs.tile, HUES[family]) : hatching(HUES[family]);
      this.patterns.set(key, made);
    }
    return made;
  }

  private gathered(family: Family, many: number): Style[] {
    return [
      new Style({
        image: new Circle({
          radius: Math.min(13, 6 + 2 * Math.log10(many)),
          fill: new Fill({ color: CASING }),
          stroke: new Stroke({ color: HUES[family], width: 1.5 }),
        }),
        text: new Text({ text: many > 1 ? String(many) : "", font: FONT, fill: new Fill({ color: HUES[family] }) }),
      }),
    ];
  }

  label(words: string, colour: string, always = false): Style {
    return new Style({
      zIndex: always ? 4 : 2,
      text: new Text({
        text: words,
        font: FONT,
        fill: new Fill({ color: colour }),
        stroke: new Stroke({ color: CASING, width: 3.5 }),
        overflow: true,
        ...(always ? { declutterMode: "none" as const } : {}),
      }),
    });
  }
}

export function zoneStyle(feature: FeatureLike, emphasis: Emphasis): Style[] {
  return [
    new Style({ stroke: new Stroke({ color: CASING, width: emphasis ? 7 : 4 }) }),
    new Style({
      stroke: new Stroke({ color: INK, width: emphasis ? 2.5 : 1.2, lineDash: [9, 3, 2, 3] }),
      text: new Text({
        text: String(feature.get("name")),
        font: '400 14px "Source Serif 4", serif',
        fill: new Fill({ color: INK }),
        stroke: new Stroke({ color: CASING, width: 4 }),
        overflow: true,
      }),
    }),
  ];
}

export function areaStyle(feature: FeatureLike, emphasis: Emphasis): Style[] {
  return [
    new Style({ stroke: new Stroke({ color: CASING, width: emphasis ? 9 : 6 }) }),
    new Style({
      stroke: new Stroke({ color: HUES.intervention, width: 3, ...broken(feature.get("standing") === "inferred" ? "unclear" : "seen") }),
      text: new Text({
        text: String(feature.get("name")),
        font: FONT,
        placement: "line",
        textBaseline: "bottom",
        fill: new Fill({ color: HUES.intervention }),
        stroke: new Stroke({ color: CASING, width: 4 }),
      }),
    }),
  ];
}

// A ring for a reading that took nothing, a filled target where material was removed.
export function samplingStyle(feature: FeatureLike, emphasis: Emphasis): Style[] {
  return [
    new Style({
      zIndex: emphasis ? 6 : 5,
      image: new Icon({ img: target(Boolean(feature.get("invasive")), emphasis), scale: 1 / DEVICE_PIXEL_RATIO, declutterMode: "none" }),
      text: new Text({
        text: String(feature.get("number")),
        font: FONT,
        offsetY: emphasis ? -22 : -17,
        fill: new Fill({ color: SAMPLE }),
        stroke: new Stroke({ color: CASING, width: 3.5 }),
        ...(emphasis ? { declutterMode: "none" as const } : {}),
      }),
    }),
  ];
}

const targets = new Map<string, HTMLCanvasElement>();

function target(invasive: boolean, emphasis: Emphasis): HTMLCanvasElement {
  const key = `${invasive} ${emphasis}`;
  const known = targets.get(key);
  if (known) return known;
  const half = emphasis ? 15 : 11;
  const canvas = board(half * 2);
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  pen.scale(DEVICE_PIXEL_RATIO, DEVICE_PIXEL_RATIO);
  pen.translate(half, half);
  const disc = (radius: number, fill: string): void => {
    pen.beginPath();
    pen.arc(0, 0, radius, 0, 2 * Math.PI);
    pen.fillStyle = fill;
    pen.fill();
  };
  if (emphasis) disc(half, INK);
  disc(half - (emphasis ? 2 : 0), "#ffffff");
  disc(7, SAMPLE);
  if (!invasive) disc(4.6, "#ffffff");
  disc(1.9, invasive ? "#ffffff" : SAMPLE);
  targets.set(key, canvas);
  return canvas;
}

// What lies on the other side: a thin double line, told apart from everything on this side.
export function behindStyle(feature: FeatureLike): Style[] {
  const hue = HUES[feature.get("family") as Family];
  const point = String(feature.getGeometry()?.getType()).includes("Point");
  return [
    new Style({
      stroke: new Stroke({ color: hue, width: 4.5 }),
      ...(point ? { image: new Circle({ radius: 7, stroke: new Stroke({ color: hue, width: 4.5 }) }) } : {}),
    }),
    new Style({
      stroke: new Stroke({ color: "#ffffff", width: 2.5 }),
      ...(point ? { image: new Circle({ radius: 7, stroke: new Stroke({ color: "#ffffff", width: 2.5 }) }) } : {}),
    }),
  ];
}

export function sketchStyle(): Style[] {
  return [
    new Style({
      zIndex: 9,
      stroke: new Stroke({ color: CASING, width: 7 }),
      image: new Circle({ radius: 9, fill: new Fill({ color: CASING }), stroke: new Stroke({ color: INK, width: 2 }) }),
    }),
    new Style({
      zIndex: 9,
      fill: new Fill({ color: "rgba(255, 255, 255, 0.25)" }),
      stroke: new Stroke({ color: INK, width: 2.5 }),
      image: new Circle({ radius: 3, fill: new Fill({ color: INK }) }),
    }),
  ];
}

function broken(state: State): { lineDash?: number[] } {
  if (state === "unclear") return { lineDash: [6, 4] };
  return state === "not_seen" ? { lineDash: [1.5, 4] } : {};
}

function board(size: number): HTMLCanvasElement {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = Math.round(size * DEVICE_PIXEL_RATIO);
  return canvas;
}

function repeated(canvas: HTMLCanvasElement, hue: string): CanvasPattern | string {
  return canvas.getContext("2d")?.createPattern(canvas, "repeat") ?? hue;
}

// A tile of a pattern, from the same SVG shapes that print uses.
function tile(drawing: string, size: number, hue: string): CanvasPattern | string {
  const canvas = board(size * PX_PER_MM);
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  pen.fillStyle = `${hue}1c`;
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.scale(canvas.width / size, canvas.height / size);
  pen.fillStyle = pen.strokeStyle = hue;
  pen.lineWidth = 0.24;
  const source = `<svg xmlns="http://www.w3.org/2000/svg">${drawing.replaceAll("{line}", 'class="line"')}</svg>`;
  for (const element of new DOMParser().parseFromString(source, "image/svg+xml").documentElement.children) {
    const path = new Path2D(element.getAttribute("d") ?? "");
    if (element.tagName === "circle") {
      const [x, y, r] = ["cx", "cy", "r"].map((name) => Number(element.getAttribute(name)));
      path.arc(x ?? 0, y ?? 0, r ?? 0, 0, 2 * Math.PI);
    }
    if (element.classList.contains("line")) pen.stroke(path);
    else pen.fill(path);
  }
  return repeated(canvas, hue);
}

function hatching(hue: string): CanvasPattern | string {
  const canvas = board(8);
  const pen = canvas.getContext("2d") as CanvasRenderingContext2D;
  pen.scale(canvas.width / 8, canvas.height / 8);
  pen.strokeStyle = hue;
  pen.lineWidth = 1.5;
  pen.stroke(new Path2D("M-2 2L2 -2M0 8L8 0M6 10L10 6"));
  return repeated(canvas, hue);
}

function hatch(pen: CanvasRenderingContext2D, within: Path2D, hue: string): void {
  pen.save();
  pen.clip(within);
  pen.strokeStyle = hue;
  pen.lineWidth = 0.22;
  pen.setLineDash([]);
  for (let at = -3; at < 3; at += 0.55) pen.stroke(new Path2D(`M${at} 1.2L${at + 2.4} -1.2`));
  pen.restore();
}
