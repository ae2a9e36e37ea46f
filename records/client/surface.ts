// The map of a face: pictures, records, choosing, drawing.

import "ol/ol.css";
import type Map from "ol/Map";
import type { FeatureLike } from "ol/Feature";
import { buffer, containsExtent, getHeight, getWidth, type Extent } from "ol/extent";
import { Polygon } from "ol/geom";
import { faceMap, startZoom } from "./surface/board";
import { Drawing } from "./surface/drawing";
import { faceFrame } from "./surface/millimetres";
import { Pictures } from "./surface/pictures";
import { startScale } from "./surface/scale";
import { part, readSetUp, type Place, type SetUp, type Shape } from "./surface/setup";
import { fillWhole, layer, Windowed, type Records } from "./surface/shapes";
import { areaStyle, behindStyle, Painter, samplingStyle, zoneStyle, type Emphasis } from "./surface/signs";

const COARSE = matchMedia("(pointer: coarse)").matches;
const NARROW = matchMedia("(width < 64rem)");
const NEAR_PX = COARSE ? 22 : 8; // how far beside a record one may press
const TINY_PX = 48; // smaller than this on the screen, a record chosen elsewhere is brought closer
const AROUND_MM = 60; // shown around it, at least

interface Chosen {
  what: "trace" | Place;
  id: number;
}

class Surface {
  private readonly frame;
  private readonly map: Map;
  private readonly painter: Painter;
  private readonly records: Record<"traces" | "behind" | Place, Records>;
  private readonly traces: Windowed;
  private readonly behind: Windowed;
  private readonly drawing: Drawing;
  private readonly filters = part<HTMLFormElement>("trace-choice");
  private chosen: Chosen | null = null;
  private lit = 0;
  private pressed = false; // whether what is being opened was pressed on the map itself

  constructor(private readonly setUp: SetUp) {
    this.frame = faceFrame(setUp.width, setUp.height);
    this.painter = new Painter(setUp.kinds, setUp.signs, setUp.width * setUp.height);
    this.map = faceMap(setUp, this.frame);
    new Pictures(this.map, this.frame, setUp);
    this.records = {
      areas: layer((f) => areaStyle(f, this.emphasis("areas", f)), 4),
      zones: layer((f) => zoneStyle(f, this.emphasis("zones", f)), 9, true),
      behind: layer((f) => behindStyle(f), 6),
      traces: layer((f, resolution) => this.painter.trace(f, resolution, this.emphasis("trace", f)), 7, true),
      points: layer((f) => samplingStyle(f, this.emphasis("points", f)), 8, true),
    };
    for (const records of Object.values(this.records)) this.map.addLayer(records);
    this.traces = new Windowed(this.map, this.records.traces, () => this.tracesAddress(), (found, gathered) => {
      const words = `${found} trace${found === 1 ? "" : "s"} in view`;
      part("map-found").textContent = gathered ? `${words}; come closer to tell the gathered ones apart` : words;
    });
    this.behind = new Windowed(
      this.map,
      this.records.behind,
      () => (setUp.addresses.behindTraces ? `${setUp.addresses.behindTraces}?behind=1` : ""),
      () => undefined,
    );
    this.drawing = new Drawing(this.map, (address) => this.open(address));
    this.startLayers();
    this.startChoosing();
    this.startTools();
    startScale(this.map);
    this.askedFor();
  }

  private tracesAddress(): string {
    const query = new URLSearchParams();
    new FormData(this.filters).forEach((value, name) => {
      if (value) query.append(name, String(value));
    });
    return `${this.setUp.addresses.traces}?${query}`;
  }

  private emphasis(what: Chosen["what"], feature: FeatureLike): Emphasis {
    const id = feature.getId();
    if (this.chosen?.what === what && this.chosen.id === id) return "chosen";
    return what === "trace" && this.lit && this.lit === id ? "lit" : "";
  }

  private redraw(): void {
    for (const records of Object.values(this.records)) records.changed();
  }

  private fillPlace(what: Place): void {
    void fillWhole(this.records[what], this.setUp.addresses.shapes.replace("WHAT", what));
  }

  // Which layers are shown; what is not shown is not asked for.
  private startLayers(): void {
    for (const box of document.querySelectorAll<HTMLInputElement>("input[data-layer]")) {
      const name = box.dataset["layer"] as keyof typeof this.records;
      const show = (): void => {
        this.records[name].setVisible(box.checked);
        if (!box.checked) return;
        if (name === "traces") void this.traces.renew();
        else if (name === "behind") void this.behind.renew();
        else this.fillPlace(name);
      };
      box.addEventListener("change", show);
      show();
    }
    part<HTMLInputElement>("with-gone").addEventListener("change", (event) => {
      this.painter.withGone = (event.target as HTMLInputElement).checked;
      this.redraw();
    });
    this.filters.addEventListener("input", () => void this.traces.renew());
    this.filters.addEventListener("change", () => void this.traces.renew());
  }

  private startChoosing(): void {
    this.map.on("click", (event) => {
      if (!this.drawing.busy) this.choose(event.pixel);
    });
    if (!COARSE) {
      this.map.on("pointermove", (event) => {
        if (event.dragging || this.drawing.busy) return;
        const over = this.at(event.pixel).length > 0;
        part("map").classList.toggle("over", over);
      });
    }
    document.addEventListener("antequem:light", (event) => {
      this.lit = Number((event as CustomEvent<string>).detail) || 0;
      this.redraw();
    });
    // Whatever the panel speaks of is what the map shows as chosen.
    document.addEventListener("htmx:afterSwap", (event) => {
      const { target } = (event as CustomEvent).detail as { target: HTMLElement };
      if (target.id === "grounds") this.follow(target.querySelector<HTMLElement>("[data-subject]"));
    });
  }

  private at(pixel: number[]): Chosen[] {
    const found: { chosen: Chosen; size: number }[] = [];
    const names = new globalThis.Map<unknown, Chosen["what"]>([
      [this.records.points, "points"],
      [this.records.traces, "trace"],
      [this.records.zones, "zones"],
      [this.records.areas, "areas"],
    ]);
    this.map.forEachFeatureAtPixel(
      pixel,
      (feature, records) => {
        const what = names.get(records);
        const geometry = feature.getGeometry();
        if (!what || !geometry || feature.get("many")) return;
        const size = geometry instanceof Polygon ? geometry.getArea() : 0;
        found.push({ chosen: { what, id: Number(feature.getId()) }, size: what === "zones" || what === "areas" ? Infinity : size });
      },
      { hitTolerance: NEAR_PX },
    );
    // The smallest first: a small mark on a large stain can be reached.
    found.sort((a, b) => a.size - b.size);
    return found.map(({ chosen }) => chosen);
  }

  // Press again at the same place for the next record there.
  private choose(pixel: number[]): void {
    const here = this.at(pixel);
    if (!here.length) {
      this.comeCloser(pixel);
      return;
    }
    const before = here.findIndex((one) => one.what === this.chosen?.what && one.id === this.chosen.id);
    const next = here[(before + 1) % here.length];
    if (!next) return;
    this.pressed = true;
    part("map-here").textContent = here.length > 1 ? `${here.length} records here: press again for the next` : "";
    this.open(this.besideAddress(next));
  }

  // A gathered point opens by coming closer.
  private comeCloser(pixel: number[]): void {
    const many = this.map.forEachFeatureAtPixel(pixel, (feature) => feature.get("many") as number | undefined, {
      hitTolerance: NEAR_PX,
    });
    if (!many) return;
    const view = this.map.getView();
    view.animate({ center: this.map.getCoordinateFromPixel(pixel), resolution: (view.getResolution() ?? 1) / 3, duration: 250 });
  }

  private besideAddress({ what, id }: Chosen): string {
    const { trace, place } = this.setUp.addresses;
    return what === "trace" ? trace.replace("/0/", `/${id}/`) : place.replace("WHAT", what).replace("/0/", `/${id}/`);
  }

  private open(address: string): void {
    void window.htmx.ajax("get", address, { target: "#grounds", swap: "innerHTML" });
  }

  private follow(subject: HTMLElement | null): void {
    if (!subject) return;
    const [what, id] = (subject.dataset["subject"] ?? "").split(":");
    this.chosen = { what: what as Chosen["what"], id: Number(id) };
    if (subject.dataset["saved"]) {
      this.drawing.leave();
      if (what === "trace") void this.traces.renew();
      else this.fillPlace(what as Place);
      window.htmx.trigger(this.filters, "refresh", {});
    }
    // The sheet of grounds lies over the lower half of a narrow screen: the map goes to the upper.
    if (NARROW.matches) part("map").scrollIntoView({ block: "start" });
    const extent = subject.dataset["extent"]?.split(",").map(Number);
    if (extent?.length === 4 && !this.pressed) this.bringIn(extent as Extent);
    this.pressed = false;
    const url = new URL(location.href);
    for (const name of ["trace", "point", "zone"]) url.searchParams.delete(name);
    const name = { trace: "trace", points: "point", zones: "zone" }[what ?? ""];
    if (name) url.searchParams.set(name, id ?? "");
    history.replaceState(history.state, "", url);
    this.redraw();
  }

  // What was chosen elsewhere comes into view, large enough to be made out.
  private bringIn(extent: Extent): void {
    const view = this.map.getView();
    const size = Math.max(getWidth(extent), getHeight(extent));
    const tiny = size / (view.getResolution() ?? 1) < TINY_PX;
    if (containsExtent(view.calculateExtent(this.map.getSize()), extent) && !tiny) return;
    view.fit(buffer(extent, Math.max(size, AROUND_MM)), { padding: [20, 20, 20, 20], duration: 250 });
  }

  private startTools(): void {
    startZoom(this.map, this.setUp);
    part("print-map").addEventListener("click", () => print());
    // On paper the map keeps the shape that it has on the screen.
    addEventListener("beforeprint", () => {
      const { clientWidth, clientHeight, style } = part("map");
      style.setProperty("--shape", `${clientWidth} / ${clientHeight}`);
    });
    // What is saved is what the filters choose.
    part<HTMLAnchorElement>("save-traces").addEventListener("click", (event) => {
      const link = event.currentTarget as HTMLAnchorElement;
      link.search = new URL(this.tracesAddress(), location.href).search;
    });
    document.addEventListener("click", (event) => {
      const button = event.target instanceof Element ? event.target.closest<HTMLElement>("[data-draw]") : null;
      if (!button) return;
      const shape = (button.dataset["shape"] ?? "polygon") as Shape;
      button.closest("details")?.removeAttribute("open");
      this.drawing.begin({
        what: button.dataset["draw"] as "measure" | "form",
        words: button.dataset["words"] ?? "",
        address: button.dataset["address"] ?? "",
        shape,
      });
    });
  }

  private askedFor(): void {
    const { trace, point, zone } = this.setUp.asked;
    if (trace) this.open(this.besideAddress({ what: "trace", id: trace }));
    else if (point) this.open(this.besideAddress({ what: "points", id: point }));
    else if (zone) this.open(this.besideAddress({ what: "zones", id: zone }));
    else if (location.hash === "#place-point") document.getElementById("set-point")?.click();
  }
}

const setUp = readSetUp();
// htmx settles its own start on this event; the panel is filled through it.
if (setUp) addEventListener("DOMContentLoaded", () => new Surface(setUp));
