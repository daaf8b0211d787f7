// The licences of everything in the page, read while it is built from the modules themselves: Go and its zone data, the Go
// modules that the engine links, and the packages whose code esbuild put into the scripts.
import { execFileSync } from "node:child_process"
import { existsSync, readdirSync, readFileSync } from "node:fs"
import { join } from "node:path"

const named = /^(licen[cs]e|copying|notice)(\.(md|txt))?$/i

/** @typedef {{ name: string, texts: string[] }} Part */

/** The parts of the page that others wrote, by esbuild's account of the scripts and Go's of the engine. */
export function licences(top, metafiles) {
  const parts = [...ofGo(), ...ofModules(top), ...ofPackages(top, metafiles)]
  for (const { name, texts } of parts) if (texts.length === 0) throw new Error(`${name} comes without a licence text`)
  return parts.map(({ name, texts }) => `${name}\n\n${texts.map((t) => t.trim()).join("\n\n")}\n`).join(`\n${"-".repeat(72)}\n\n`)
}

function go(top, ...args) {
  return execFileSync("go", args, { cwd: top, encoding: "utf8", env: { ...process.env, GOOS: "js", GOARCH: "wasm" } }).trim()
}

function textsIn(folder) {
  return existsSync(folder) ? readdirSync(folder).filter((n) => named.test(n)).sort().map((n) => readFileSync(join(folder, n), "utf8")) : []
}

function ofGo() {
  const [root, version] = go(".", "env", "GOROOT", "GOVERSION").split("\n")
  return [
    { name: `Go ${version.replace(/^go/, "")}: runtime and standard library`, texts: textsIn(root) },
    { name: "Time zone data, with Go", texts: [readFileSync(join(root, "lib", "time", "README"), "utf8")] },
  ]
}

function ofModules(top) {
  const list = go(top, "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}{{end}}", "./wasm")
  return [...new Set(list.split("\n").filter(Boolean))].sort().map((line) => {
    const [path, version, folder] = line.split("\t")
    const inner = join(folder, "THIRD_PARTY_LICENSES")
    const others = existsSync(inner) ? readdirSync(inner).sort().map((n) => `${n}:\n\n${readFileSync(join(inner, n), "utf8")}`) : []
    return { name: `${path} ${version}`, texts: [...textsIn(folder), ...others] }
  })
}

function ofPackages(top, metafiles) {
  const inputs = metafiles.flatMap((m) => Object.keys(m.inputs))
  const names = new Set(inputs.map((path) => /node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(path)?.[1]).filter(Boolean))
  return [...names].sort().map((name) => {
    const folder = join(top, "web", "node_modules", name)
    const { version } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"))
    return { name: `${name} ${version}`, texts: textsIn(folder) }
  })
}
