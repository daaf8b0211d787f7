// The page and its worker cannot reach the network: local listeners hear nothing of any way that is tried inside them, while
// the same ways tried from a page without a policy all arrive.
import assert from "node:assert/strict"
import { createHash } from "node:crypto"
import { createSocket } from "node:dgram"
import { once } from "node:events"
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs"
import { createServer } from "node:http"
import { createServer as createTCP } from "node:net"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { after, before, test } from "node:test"
import { example, open, page, settled } from "./open.mjs"
import { fromPage, fromWorker, ungoverned } from "./attempts.mjs"

const work = mkdtempSync(join(tmpdir(), "lastbeacon-policy-"))
const control = join(work, "control.html")
writeFileSync(control, `<!doctype html><title>control</title><body><script>new Worker(URL.createObjectURL(new Blob(["0"])))</script>`)

const heard = new Set()
const server = createServer((request, response) => {
  const served = { "/page.html": page, "/control.html": control }[request.url]
  if (served) return void response.writeHead(200, { "content-type": "text/html" }).end(readFileSync(served))
  heard.add(request.url.slice(1))
  response.writeHead(200, { "access-control-allow-origin": "*", "content-type": "text/plain" }).end()
})
server.on("upgrade", (request, socket) => {
  heard.add(request.url.slice(1))
  socket.destroy()
})
const knocked = createTCP((socket) => {
  heard.add("knock")
  socket.on("error", () => undefined).destroy()
})
const datagrams = ["rtc", "framed", "transport", "worker-transport"].map((name) => createSocket("udp4").on("message", () => heard.add(name)))
let where

before(async () => {
  for (const listener of [server, knocked]) listener.listen(0, "127.0.0.1")
  for (const socket of datagrams) socket.bind(0, "127.0.0.1")
  await Promise.all([server, knocked, ...datagrams].map((listener) => once(listener, "listening")))
  const at = (listener) => `127.0.0.1:${listener.address().port}`
  const [rtc, framed, quic, workerQuic] = datagrams.map(at)
  where = {
    http: `http://${at(server)}`, ws: `ws://${at(server)}`, knock: `http://${at(knocked)}`,
    udp: `stun:${rtc}`, framed: `stun:${framed}`, quic: `https://${quic}`, workerQuic: `https://${workerQuic}`,
  }
})

after(() => {
  server.closeAllConnections()
  for (const listener of [server, knocked, ...datagrams]) listener.close()
  rmSync(work, { recursive: true })
})

/** Tries everything in an opened page and its worker, and gives the ways tried. */
async function tryAll({ sheet }) {
  heard.clear()
  await sheet.waitForFunction(() => document.readyState === "complete")
  const ways = await sheet.evaluate(fromPage, where)
  const worker = sheet.workers()[0] ?? (await sheet.waitForEvent("worker"))
  ways.push(...(await worker.evaluate(fromWorker, where)))
  await new Promise((done) => setTimeout(done, 4000))
  return ways
}

/** A document opened from its file or from a server, which gives it more ways. */
async function openFrom(way, path) {
  const opened = await open(path)
  if (way === "a server") await opened.sheet.goto(`${where.http}/${path === page ? "page" : "control"}.html`)
  return opened
}

for (const way of ["a file", "a server"]) {
  test(`without a policy everything tried arrives, from ${way}`, async () => {
    const opened = await openFrom(way, control)
    try {
      const ways = await tryAll(opened)
      assert.deepEqual(ways.filter((name) => !heard.has(name)), [], "these did not arrive")
    } finally {
      await opened.close()
    }
  })

  test(`from the page and its worker nothing arrives, opened from ${way}`, async () => {
    const opened = await openFrom(way, page)
    try {
      await opened.sheet.locator("input.picker").first().setInputFiles([join(example, "ridge-0508.log")])
      await settled(opened.sheet)
      const ways = await tryAll(opened)
      assert.ok(ways.length > 55)
      assert.deepEqual([...heard], [])
    } finally {
      await opened.close()
    }
  })
}

test("what no policy governs is no more than the page says", async () => {
  const opened = await open(page)
  try {
    const { sheet } = opened
    heard.clear()
    const ways = await sheet.evaluate(ungoverned, where)
    await sheet.waitForTimeout(3000)
    assert.deepEqual(ways.filter((way) => !heard.has(way)), [], "the policy governs these now")
    await sheet.getByText("About this page").click()
    await sheet.getByText(/looking a host up or greeting it ahead of time, connections between browsers \(WebRTC\), and going to another page/).waitFor()
  } finally {
    await opened.close()
  }
})

const html = readFileSync(page, "utf8")
const blocks = new Map([...html.matchAll(/<script(?: type="text\/plain")? id="([\w-]+)">([^]*?)<\/script>/g)].map(([, id, text]) => [id, text]))
const sha256 = (text, form) => createHash("sha256").update(text).digest(form)

test("script and style are let through by their hashes alone, and the script carries the digest of every other block", () => {
  const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(html)[1]
  const style = /<style id="sheet">([^]*?)<\/style>/.exec(html)[1]
  assert.deepEqual(policy.split("; "), [
    "default-src 'none'", `script-src 'sha256-${sha256(blocks.get("page"), "base64")}' 'wasm-unsafe-eval'`, "worker-src blob:", `style-src 'sha256-${sha256(style, "base64")}'`,
    "img-src data: blob:", "connect-src 'none'", "base-uri 'none'", "form-action 'none'",
  ])
  for (const [id, text] of blocks) if (id !== "page") assert.ok(blocks.get("page").includes(sha256(text, "hex")), `no digest of ${id}`)
})

test("no script names a way to the network", () => {
  for (const id of ["page", "worker"]) {
    const found = blocks.get(id).match(/\bfetch\(|fetchLater|preconnect|prefetch|speculationrules|"iframe"|XMLHttpRequest|WebSocket|EventSource|WebTransport|sendBeacon|new RTC|\.RTC|importScripts|\bimport\(|serviceWorker|window\.open|location\.(?:href|assign|replace)|\.submit\(/g)
    assert.deepEqual(found ?? [], [], id)
  }
})

for (const id of ["worker", "engine"]) {
  test(`a page whose ${id} was changed does not start it and says so`, async () => {
    const path = join(work, `${id}.html`)
    const text = blocks.get(id)
    const changed = id === "worker" ? `${text}\n;postMessage(1)` : `${text.slice(0, 5000)}${text[5000] === "A" ? "B" : "A"}${text.slice(5001)}`
    writeFileSync(path, html.replace(text, () => changed))
    const { sheet, close } = await open(path)
    try {
      await sheet.getByText(`the part "${id}" of this file is not as it was built`).waitFor({ timeout: 10_000 })
      assert.equal(sheet.workers().length, 0)
    } finally {
      await close()
    }
  })
}

test("a page whose script was changed runs nothing at all", async () => {
  const path = join(work, "script.html")
  writeFileSync(path, html.replace('id="page">', 'id="page">window.changed = 1;'))
  const { sheet, close } = await open(path)
  try {
    await sheet.waitForTimeout(500)
    assert.equal(await sheet.evaluate(() => window.changed), undefined)
    assert.equal(await sheet.locator("#root *").count(), 0)
  } finally {
    await close()
  }
})
