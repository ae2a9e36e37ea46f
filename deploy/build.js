// Bundles the front end into records/static/records/build: one script for every file directly in
// records/client (with the style sheet of what it imports beside it), and fonts.css with its fonts.
import { build } from "esbuild";
import { readdirSync, rmSync } from "node:fs";

const client = "records/client";
const outdir = "records/static/records/build";
const scripts = readdirSync(client).filter((name) => name.endsWith(".ts") && !name.endsWith(".d.ts"));

rmSync(outdir, { recursive: true, force: true });
await build({
  entryPoints: [...scripts.map((name) => `${client}/${name}`), "deploy/fonts.css"],
  entryNames: "[name]",
  assetNames: "fonts/[name]",
  outdir,
  bundle: true,
  format: "esm",
  target: "es2022",
  minify: true,
  sourcemap: "linked",
  loader: { ".woff": "file", ".woff2": "file" },
  logLevel: "warning",
});
