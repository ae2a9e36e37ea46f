// The frame of a face: millimetres, x to the right, y up, from the lower left corner.
//
// A picture has a frame of its own (pixels, rows downwards as negative y); where it lies on the face
// is a 3 × 3 matrix. OpenLayers treats the two as projections and redraws tiles from one to the other.

import type { Coordinate } from "ol/coordinate";
import { addCoordinateTransforms } from "ol/proj";
import Projection from "ol/proj/Projection";
import type { Picture } from "./setup";

const METRES_PER_MM = 0.001;

export function faceFrame(width: number, height: number): Projection {
  return new Projection({
    code: "face-millimetres",
    units: "m",
    metersPerUnit: METRES_PER_MM,
    extent: [0, 0, width, height],
    getPointResolution: (resolution) => resolution,
  });
}

type Row = [number, number, number];
export type Matrix = [Row, Row, Row];

export function inverse([[a, b, c], [d, e, f], [g, h, i]]: Matrix): Matrix {
  const A = e * i - f * h;
  const B = f * g - d * i;
  const C = d * h - e * g;
  const det = a * A + b * B + c * C;
  return [
    [A / det, (c * h - b * i) / det, (b * f - c * e) / det],
    [B / det, (a * i - c * g) / det, (c * d - a * f) / det],
    [C / det, (b * g - a * h) / det, (a * e - b * d) / det],
  ];
}

export function apply([first, second, third]: Matrix, x: number, y: number): [number, number] {
  const weight = third[0] * x + third[1] * y + third[2];
  return [
    (first[0] * x + first[1] * y + first[2]) / weight,
    (second[0] * x + second[1] * y + second[2]) / weight,
  ];
}

// The frame of a picture, tied to the face; seen from behind when `mirrored` gives the face's width.
export function pictureFrame(picture: Picture, face: Projection, mirrored: number | null): Projection {
  const forward = picture.matrix as Matrix;
  const back = inverse(forward);
  const [x0, y0] = apply(forward, picture.width / 2, picture.height / 2);
  const [x1, y1] = apply(forward, picture.width / 2 + 1, picture.height / 2);
  const frame = new Projection({
    code: `image-${picture.image}${mirrored === null ? "" : "-behind"}`,
    units: "pixels",
    metersPerUnit: Math.hypot(x1 - x0, y1 - y0) * METRES_PER_MM,
    extent: [0, -picture.height, picture.width, 0],
    getPointResolution: (resolution) => resolution,
  });
  const turn = (x: number): number => (mirrored === null ? x : mirrored - x);
  addCoordinateTransforms(
    frame,
    face,
    ([column = 0, row = 0]: Coordinate) => {
      const [x, y] = apply(forward, column, -row);
      return [turn(x), y];
    },
    ([x = 0, y = 0]: Coordinate) => {
      const [column, row] = apply(back, turn(x), y);
      return [column, -row];
    },
  );
  return frame;
}

const SPACE = "\u202f";

export function inWords(value: number, unit: "mm" | "mm²"): string {
  const steps: [number, string, number][] =
    unit === "mm"
      ? [
          [1e4, "m", 1e3],
          [1e2, "cm", 10],
          [0, "mm", 1],
        ]
      : [
          [1e6, "m²", 1e6],
          [1e3, "cm²", 1e2],
          [0, "mm²", 1],
        ];
  const [, name, size] = steps.find(([from]) => value >= from) ?? [0, unit as string, 1];
  const scaled = value / size;
  const decimals = scaled >= 100 || scaled === 0 ? 0 : scaled >= 10 ? 1 : 2;
  return `${Number.isInteger(scaled) ? scaled : scaled.toFixed(decimals)}${SPACE}${name}`;
}
