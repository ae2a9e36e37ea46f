// Layers of records: fetched for the window that the map shows, in the detail that it can show.

import type Feature from "ol/Feature";
import type Map from "ol/Map";
import GeoJSON from "ol/format/GeoJSON";
import { buffer, containsExtent, getWidth, type Extent } from "ol/extent";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import type { StyleFunction } from "ol/style/Style";

const FINER = 2; // shapes are asked for again once the map shows them this much larger

export type Records = VectorLayer<VectorSource<Feature>>;

export function layer(style: StyleFunction, zIndex: number, declutter = false): Records {
  return new VectorLayer<VectorSource<Feature>>({
    source: new VectorSource<Feature>(),
    style,
    zIndex,
    declutter,
    updateWhileInteracting: true,
  });
}

async function fetchJson(address: string, signal: AbortSignal | null): Promise<{ found?: number }> {
  const response = await fetch(address, { signal, headers: { Accept: "application/geo+json" } });
  if (!response.ok) throw new Error(`The records cannot be read (${response.status}).`);
  return (await response.json()) as { found?: number };
}

// A layer with few records, fetched whole.
export async function fillWhole(records: Records, address: string): Promise<void> {
  const json = await fetchJson(address, null);
  const source = records.getSource();
  source?.clear(true);
  source?.addFeatures(new GeoJSON().readFeatures(json));
}

// A layer of any size, fetched by window.
export class Windowed {
  private held: { extent: Extent; resolution: number; whole: boolean } | null = null;
  private asking: AbortController | null = null;

  constructor(
    private readonly map: Map,
    readonly records: Records,
    private readonly address: () => string,
    private readonly told: (found: number, gathered: boolean) => void,
  ) {
    map.on("moveend", () => void this.refresh());
  }

  // Ask again, because the records or the filters have changed.
  renew(): Promise<void> {
    this.held = null;
    return this.refresh();
  }

  private enough(extent: Extent, resolution: number): boolean {
    const held = this.held;
    if (!held || !containsExtent(held.extent, extent)) return false;
    if (resolution < held.resolution / FINER) return false;
    return held.whole || resolution >= held.resolution / 1.01;
  }

  private async refresh(): Promise<void> {
    const address = this.address();
    const size = this.map.getSize();
    const resolution = this.map.getView().getResolution();
    if (!address || !size || !resolution || !this.records.getVisible()) return;
    const shown = this.map.getView().calculateExtent(size);
    if (this.enough(shown, resolution)) return;
    const extent = buffer(shown, getWidth(shown) / 4);
    const [xmin = 0, ymin = 0, xmax = 0, ymax = 0] = extent;
    const url = new URL(address, location.href);
    for (const [name, value] of Object.entries({ xmin, ymin, xmax, ymax, mm_per_px: resolution })) {
      url.searchParams.set(name, String(value));
    }
    this.asking?.abort();
    const asking = (this.asking = new AbortController());
    try {
      const json = await fetchJson(url.href, asking.signal);
      const features = new GeoJSON().readFeatures(json);
      const gathered = features.some((feature) => feature.get("many"));
      const source = this.records.getSource();
      source?.clear(true);
      source?.addFeatures(features);
      this.held = { extent, resolution, whole: !gathered };
      this.told(json.found ?? features.length, gathered);
    } catch (error) {
      if (!asking.signal.aborted) throw error;
    }
  }
}
