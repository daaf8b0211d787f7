// What the page weighs and what each dependency costs in it: the page's parts as they lie in the file, the script's packages
// by esbuild's account, and the engine's packages by the symbols of a native build of the same core.
import { execFileSync } from "node:child_process"
import { mkdtempSync, readFileSync, rmSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { fileURLToPath } from "node:url"
import * as esbuild from "esbuild"
import { pageSize, partSizes } from "./weight.mjs"

const web = fileURLToPath(new URL("..", import.meta.url))
const top = join(web, "..")

const row = (name, bytes) => console.log(`${(bytes / 1000).toFixed(1).padStart(10)} kB  ${name}`)
const table = (title, sizes, least) => {
  console.log(`\n${title}`)
  for (const [name, bytes] of [...sizes].sort((a, b) => b[1] - a[1]).filter(([, n]) => n >= least)) row(name, bytes)
}
const sum = (sizes, name, bytes) => sizes.set(name, (sizes.get(name) ?? 0) + bytes)

row("dist/lastbeacon.html", pageSize())
row("dist/engine.wasm, before packing", readFileSync(join(top, "dist", "engine.wasm")).length)
table("Parts of the page, as they lie in it", Object.entries(partSizes()), 0)

const result = await esbuild.build({
  entryPoints: [join(web, "main.tsx")], bundle: true, write: false, minify: true, metafile: true, target: "es2022", jsx: "automatic", jsxImportSource: "preact", loader: { ".css": "text" },
  define: { BLOCK_DIGESTS: "{}", SHEET_HASH: '""' }, absWorkingDir: web,
})
const script = new Map()
for (const [path, { bytesInOutput }] of Object.entries(Object.values(result.metafile.outputs)[0].inputs)) {
  sum(script, /node_modules\/((?:@[^/]+\/)?[^/]+)/.exec(path)?.[1] ?? "our own", bytesInOutput)
}
table("Packages in the page's script, minified", script, 100)

const folder = mkdtempSync(join(tmpdir(), "lastbeacon-size-"))
const binary = join(folder, "core.test")
execFileSync("go", ["test", "-c", "-tags", "noasm", "-o", binary, "./core/session"], { cwd: top })
const engine = new Map()
for (const line of execFileSync("go", ["tool", "nm", "-size", binary], { encoding: "utf8", maxBuffer: 1 << 28 }).split("\n")) {
  const [, size, kind, ...name] = line.trim().split(/\s+/)
  if (/^(\.|itab\.)/.test(name[0] ?? "")) continue
  const found = /^(?:type:\S*?|go:\S*?)?([a-z0-9./_-]+?)\.[^/]*$/i.exec(name.join(" "))
  if (kind && /[TtRr]/.test(kind) && found && !found[1].startsWith(".")) sum(engine, groupOf(found[1]), Number(size))
}
rmSync(folder, { recursive: true })
engine.delete("func")
table("Packages in the engine, by symbols of a native build", engine, 30_000)
table("Of these, from outside the standard library", new Map([...engine].filter(([name]) => name.split("/")[0]?.includes("."))), 0)

function groupOf(name) {
  if (name.startsWith("lastbeacon/")) return "our own"
  const [host, owner, module] = name.split("/")
  return host?.includes(".") ? [host, owner, module].filter(Boolean).join("/") : name
}
