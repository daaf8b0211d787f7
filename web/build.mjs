// Builds the page (one HTML file), the headless command, and the logic tests. `node build.mjs` builds page and command,
// `node build.mjs tests` the tests. The engine must lie in ../dist/engine.wasm; `node build.mjs with ENGINE FOLDER` takes another
// one, for comparison.
import { createHash } from "node:crypto"
import { execFileSync } from "node:child_process"
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs"
import { join } from "node:path"
import { fileURLToPath } from "node:url"
import { gzipSync } from "node:zlib"
import zstd from "@foxglove/wasm-zstd"
import * as esbuild from "esbuild"
import { bareDecoder } from "./bare-decoder.mjs"
import { licences } from "./licences.mjs"
import { textOf as asText } from "./packing.mjs"
import { lean } from "./segments.mjs"
import { skeleton } from "./skeleton.mjs"

const web = fileURLToPath(new URL(".", import.meta.url))
const top = join(web, "..")
const dist = join(top, "dist")
const sheets = ["tokens.css", "page.css", "figure.css", "narrow.css"]

const sha256 = (data, form) => createHash("sha256").update(data).digest(form)
const packed = (bytes) => asText(gzipSync(bytes, { level: 9 }))
const sheetCSS = () => sheets.map((name) => styleText(name)).join("")

/** A style file as it lies in the page: without comments and needless space. */
function styleText(name) {
  const text = readFileSync(join(web, "css", name), "utf8")
  return esbuild.transformSync(text, { loader: "css", minify: true, target: "es2022" }).code
}

const styles = {
  name: "styles",
  setup(build) {
    build.onLoad({ filter: /\.css$/ }, ({ path }) => ({ contents: styleText(path.split("/").at(-1)), loader: "text" }))
  },
}

function bundle(entry, options) {
  return esbuild.build({
    entryPoints: [join(web, entry)], bundle: true, write: false, minify: true, metafile: true, legalComments: "none", target: "es2022", charset: "utf8",
    jsx: "automatic", jsxImportSource: "preact", plugins: [styles, bareDecoder], logLevel: "warning", absWorkingDir: web, ...options,
  })
}

const textOf = (result) => result.outputFiles[0].text

/** The engine packed a quarter tighter than gzip could; the encoder is WebAssembly, so that it gives the same on every machine. */
async function squeezed(bytes) {
  await zstd.isLoaded
  return asText(zstd.compress(lean(bytes), 19))
}

function goRuntime() {
  const root = execFileSync("go", ["env", "GOROOT"], { encoding: "utf8" }).trim()
  return join(root, "lib", "wasm", "wasm_exec.js")
}

/** The files of the example in one block: a line of JSON with names and sizes, then their bytes. */
function folded(folder) {
  const names = existsSync(folder) ? readdirSync(folder).filter((n) => /\.(log|gpx|csv|json|gz|txt)$/.test(n) && !n.startsWith("truth")).sort() : []
  const files = names.map((name) => ({ name, bytes: readFileSync(join(folder, name)) }))
  const head = JSON.stringify(files.map(({ name, bytes }) => ({ name, size: bytes.length }))) + "\n"
  return Buffer.concat([Buffer.from(head), ...files.map((f) => f.bytes)])
}

/** Script text that stands in a script element must neither end it nor begin a comment in it. */
function harmless(script, id) {
  const text = script.replaceAll("<!--", "<\\!--")
  if (/<\/script|<!--/i.test(text)) throw new Error(`the block ${id} holds text that would end its element`)
  return text
}

async function build(wasm = join(dist, "engine.wasm"), out = dist) {
  const engine = readFileSync(wasm)
  const alias = { "go-runtime": goRuntime() }
  const css = sheetCSS()
  const SHEET_HASH = JSON.stringify(`sha256-${sha256(css, "base64")}`)
  const scripts = { worker: await bundle("worker.ts", { format: "iife", alias }), page: await bundle("main.tsx", { format: "iife", define: { BLOCK_DIGESTS: "{}", SHEET_HASH } }) }
  const blocks = {
    worker: harmless(textOf(scripts.worker), "worker"), engine: await squeezed(engine), example: packed(folded(join(top, "testdata", "example"))),
    licences: packed(Buffer.from(licences(top, Object.values(scripts).map((s) => s.metafile)))),
  }
  const digests = Object.fromEntries(Object.entries(blocks).map(([id, text]) => [id, sha256(text, "hex")]))
  const script = harmless(textOf(await bundle("main.tsx", { format: "iife", define: { BLOCK_DIGESTS: JSON.stringify(digests), SHEET_HASH } })), "page")
  writeFileSync(join(out, "lastbeacon.html"), page(css, script, blocks))

  const host = await bundle("host-node.ts", {
    format: "esm", platform: "node", target: "node20", alias,
    define: { ENGINE_PACKED: JSON.stringify(blocks.engine), BLOCK_DIGESTS: "{}", SHEET_HASH },
  })
  writeFileSync(join(out, "lastbeacon.mjs"), textOf(host))
}

function page(css, script, blocks) {
  const policy = [
    "default-src 'none'", `script-src 'sha256-${sha256(script, "base64")}' 'wasm-unsafe-eval'`, "worker-src blob:",
    `style-src 'sha256-${sha256(css, "base64")}'`, "img-src data: blob:", "connect-src 'none'", "base-uri 'none'", "form-action 'none'",
  ].join("; ")
  return skeleton({ policy, css, script, blocks: Object.entries(blocks) })
}

/** Each test file as one module, so that Node can run TypeScript of any syntax. */
async function buildTests() {
  const out = join(web, "node_modules", ".cache", "logic")
  rmSync(out, { recursive: true, force: true })
  mkdirSync(out, { recursive: true })
  const tests = readdirSync(join(web, "test")).filter((n) => /\.test\.tsx?$/.test(n))
  await bundle("", {
    entryPoints: tests.map((n) => join(web, "test", n)), write: true, outdir: out, outExtension: { ".js": ".mjs" }, format: "esm", platform: "node",
    target: "node20", minify: false, external: ["node:*", "@foxglove/wasm-zstd"], alias: { "go-runtime": goRuntime() }, define: { BLOCK_DIGESTS: "{}", SHEET_HASH: '"sha256-test"' },
  })
}

/** The sample page, for pictures and checks of form; it needs no engine. */
async function buildSample() {
  const css = sheetCSS()
  const SHEET_HASH = JSON.stringify(`sha256-${sha256(css, "base64")}`)
  const script = harmless(textOf(await bundle("test/sample-page.tsx", { format: "iife", define: { BLOCK_DIGESTS: "{}", SHEET_HASH } })), "page")
  const out = join(web, "node_modules", ".cache")
  mkdirSync(out, { recursive: true })
  writeFileSync(join(out, "sample.html"), page(css, script, {}))
}

if (process.argv[2] === "tests") await buildTests()
else if (process.argv[2] === "sample") await buildSample()
else if (process.argv[2] === "with") await build(process.argv[3], process.argv[4])
else await build()
