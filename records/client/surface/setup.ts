// What the server tells the map of a face before it asks for shapes.

export interface Picture {
  image: number;
  name: string;
  width: number;
  height: number;
  matrix: number[][];
  placement: number;
  off: number; // how far what it shows may lie from its true place, in mm
  tiles: string;
  edge: [number, number][] | null; // of a redrawn image: how far it reaches on the face
}

export interface Kind {
  id: number;
  label: string;
  short: string;
  family: Family;
  shape: Shape;
  index: number;
}

export type Family = "alteration" | "intervention" | "making";
export type Shape = "point" | "line" | "polygon";
export type State = "seen" | "unclear" | "not_seen";
export type Place = "zones" | "points" | "areas";

export interface Signs {
  tile: number;
  areas: string[];
  lines: [number, string, number, CanvasLineCap | ""][];
  points: string[];
}

export interface SetUp {
  face: number;
  width: number;
  height: number;
  outline: [number, number][][];
  pictures: Picture[];
  behind: { pictures: Picture[] } | null;
  kinds: Kind[];
  signs: Signs;
  addresses: Record<
    "traces" | "shapes" | "behindTraces" | "trace" | "place",
    string
  >;
  asked: Partial<Record<"trace" | "point" | "zone" | "image", number>>;
}

export function readSetUp(): SetUp | null {
  const text = document.getElementById("surface-set-up")?.textContent;
  return text ? (JSON.parse(text) as SetUp) : null;
}

// Something that the page must hold for the map to work.
export function part<T extends HTMLElement>(id: string): T {
  const element = document.getElementById(id);
  if (!element) throw new Error(`The page lacks #${id}.`);
  return element as T;
}
