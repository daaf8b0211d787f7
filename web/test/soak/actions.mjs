// What a reader may do to the page, each as one random action: it says what it did, so that a failed sequence can be read.
import { appendFileSync, mkdtempSync, readFileSync, writeFileSync } from "node:fs"
import { tmpdir } from "node:os"
import { join } from "node:path"
import { drawn, dropPath } from "../browser/open.mjs"
import { growing, lines, remember, stock } from "./evidence.mjs"

/** What is typed into fields, and pasted. */
export const words = ["", "0", "1900", "4,8", "1e9", "-5", "plenty", "05:40", "2 May 06:00", "3 May 23:59", "2031-05-02", "Europe/Oslo", "+02:00", "Mars/Base", "Heron", "A", "=1+<b>\u202e",
  "volts", "1", "12", "99999999999", "NaN", "__proto__", "constructor", "x".repeat(300)]
const keys = ["+", "-", "0", "ArrowLeft", "ArrowRight", "Home", "Escape", "Enter", "Tab"]

// Buttons that would open a dialog of the system, or begin what an action of its own does.
const left = /^(Choose|Add files|Add a folder|Choose a folder|Print)/

/** Drops files as a person does: by drag events with a DataTransfer that holds them. */
export async function drop(sheet, files) {
  await sheet.evaluate((all) => {
    const data = new DataTransfer()
    for (const { name, text } of all) data.items.add(new File([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], name))
    for (const type of ["dragenter", "dragover", "drop"]) window.dispatchEvent(new DragEvent(type, { dataTransfer: data, bubbles: true, cancelable: true }))
  }, files.map(({ name, bytes }) => ({ name, text: bytes.toString("base64") })))
}

/** Presses one of the buttons that a pattern names; "" when there is none. */
function press(sheet, pattern, pick) {
  return sheet.evaluate(([wanted, not, at]) => {
    const names = (b) => (b.textContent ?? "").trim()
    const all = [...document.querySelectorAll("button, summary, a[href^='#']")].filter((b) => !b.disabled && new RegExp(wanted).test(names(b)) && !new RegExp(not).test(names(b)))
    const one = all[Math.floor(at * all.length)]
    one?.click()
    return one ? names(one) : ""
  }, [pattern, left.source, pick])
}

function type(sheet, text, pick) {
  return sheet.evaluate(([value, at]) => {
    const all = [...document.querySelectorAll("input[type=text], textarea")]
    const one = all[Math.floor(at * all.length)]
    if (!one) return ""
    one.focus()
    one.value = value
    one.dispatchEvent(new Event("input", { bubbles: true }))
    one.dispatchEvent(new KeyboardEvent("keydown", { key: "Enter", bubbles: true }))
    one.blur()
    return one.getAttribute("aria-label") ?? "a field"
  }, [text, pick])
}

function choose(sheet, a, b) {
  return sheet.evaluate(([at, which]) => {
    const all = [...document.querySelectorAll("select, input[type=checkbox], input[type=radio]")]
    const one = all[Math.floor(at * all.length)]
    if (!one) return ""
    if (one instanceof HTMLSelectElement) {
      one.selectedIndex = Math.floor(which * one.options.length)
      one.dispatchEvent(new Event("change", { bubbles: true }))
    } else one.click()
    return `${one.getAttribute("aria-label") ?? one.parentElement?.textContent ?? ""} ${one.value}`
  }, [a, b])
}

function zoom(sheet, key, pick) {
  return sheet.evaluate(([pressed, at]) => {
    const all = [...document.querySelectorAll(".plot[tabindex]")]
    const one = all[Math.floor(at * all.length)]
    one?.dispatchEvent(new KeyboardEvent("keydown", { key: pressed, bubbles: true, cancelable: true }))
    return one ? `key ${pressed} on a figure` : ""
  }, [key, pick])
}

/** The pages whose next download is wanted. */
export const awaiting = new Set()

/** What a button saves; null for a sheet that the engine refuses. When nothing comes, the error says what the page says of it. The
 * button is pressed by key: a sheet that grows meanwhile would move it away from under a click. */
export async function saved(sheet, button) {
  awaiting.add(sheet)
  try {
    const download = sheet.waitForEvent("download", { timeout: 60_000 })
    const pressed = sheet.getByRole("button", { name: button }).press("Enter")
    const refusal = pressed.then(() => sheet.locator("#save").getByText(/the engine refused this sheet/).waitFor({ timeout: 60_000 })).then(() => null)
    for (const p of [download, refusal]) p.catch(() => undefined)
    const file = await Promise.any([download, refusal])
    return file && { name: file.suggestedFilename(), bytes: readFileSync(await file.path()) }
  } catch (reason) {
    throw new Error(`${reason.errors?.map((e) => e.message).join("; ") ?? reason.message}; the page says: ${await sheet.locator("#save").innerText()}`)
  } finally {
    awaiting.delete(sheet)
  }
}

const given = [[/^The report/, "Save the report"], [/^Numbers, JSON/, "Save the file"], [/^This page with the evidence/, "Save the page"], [/^The bench alone/, "Save the bench"]]

/** Saves the sheet in one of its kinds and drops that on it. */
async function giveBack(sheet, [choice, button]) {
  if ((await sheet.locator("#save").count()) === 0) return "nothing to save"
  await leaveNothingOut(sheet) // of a page without its evidence, what it holds instead cannot be told from outside
  await sheet.getByLabel(choice).check()
  const file = await saved(sheet, button)
  if (!file) return "a refused sheet"
  remember(file.bytes)
  await drop(sheet, [file])
  return file.name
}

const kinds = [...given, [/^Numbers, CSV/, "Save the file"], [/^Markdown/, "Save the file"], [/^Every transmission/, "Save the file"], [/^Every line of the evidence/, "Save the file"]]
const calls = /Q(X1ABC|L2KD|N3ZZ|X1RPT)/

/** Takes back what was wished to be left out, in the kind of which everything can be. */
export async function leaveNothingOut(sheet) {
  await sheet.getByLabel(/^This page with the evidence/).check()
  await sheet.locator("#save").getByLabel("Places", { exact: true }).selectOption("kept")
  for (const box of await sheet.locator("#save input[type=checkbox]").all()) await box.uncheck()
}

/** Saves the sheet in one of its kinds with things left out, as they please, and looks at what was saved. */
async function saveForOthers(sheet, d) {
  if ((await sheet.locator("#save").count()) === 0) return "nothing to save"
  const [choice, button] = d.of(kinds), save = sheet.locator("#save")
  await sheet.getByLabel(choice).check()
  const renamed = save.getByLabel(/^Call signs renamed/), without = save.getByLabel(/^Without lines/), places = save.getByLabel("Places", { exact: true })
  const wish = [d.chance(0.5), d.chance(0.5), d.of(["kept", "metres", "none"])]
  if (await places.isEnabled()) await places.selectOption(wish[2])
  for (const [box, on] of [[renamed, wish[0]], [without, wish[1]]]) if (await box.isEnabled()) await box.setChecked(on)
  const hidden = await renamed.isChecked()
  const file = await saved(sheet, button)
  if (!file) {
    await leaveNothingOut(sheet)
    return "a refused sheet"
  }
  const text = String(file.bytes)
  const call = hidden && calls.exec(text)
  if (call) throw new Error(`${file.name} was to rename call signs and holds ${text.slice(Math.max(0, call.index - 60), call.index + 20)}`)
  if (/json$/.test(file.name)) JSON.parse(text)
  if (/jsonl$/.test(file.name)) for (const line of text.split("\n").filter(Boolean)) JSON.parse(line)
  await leaveNothingOut(sheet)
  return `${file.name}${hidden ? ", calls renamed" : ""}, ${wish.slice(1)}`
}

const asking = stock.filter((f) => ["clock.log", "noon.log", "slashes.log", "dashes.log", "riddle.csv"].includes(f.name))

/** Drops a file that leaves something open, and answers what the page asks of any, or says what a column holds. */
async function answerFile(sheet, d) {
  await drop(sheet, [d.of(asking)])
  await sheet.locator("#evidence").waitFor()
  const closed = sheet.locator("#evidence .fold-button[aria-expanded=false]")
  if (await closed.count()) await closed.click()
  await sheet.locator("#evidence .ask button, #evidence select").first().waitFor({ timeout: 2000 }).catch(() => undefined)
  return sheet.evaluate(([at, which]) => {
    const all = [...document.querySelectorAll("#evidence .ask button, #evidence .ask input[type=radio], #evidence select")]
    const one = all[Math.floor(at * all.length)]
    if (!one) return "nothing asked"
    if (one instanceof HTMLSelectElement) {
      one.selectedIndex = Math.floor(which * one.options.length)
      one.dispatchEvent(new Event("change", { bubbles: true }))
    } else one.click()
    return `${one.getAttribute("aria-label") ?? one.textContent} ${one.value}`
  }, [d.next(), d.next()])
}

/** Drops a file as a file manager does, writes on, and waits until the page has looked. */
async function grow(sheet) {
  const path = join(mkdtempSync(join(tmpdir(), "lastbeacon-grow-")), "growing.log")
  writeFileSync(path, growing[0])
  remember(readFileSync(path))
  await dropPath(sheet, path)
  await sheet.waitForTimeout(500)
  appendFileSync(path, growing[1])
  remember(readFileSync(path))
  await sheet.waitForTimeout(6000)
}

/** Stops the engine and has the page try again. */
async function breakEngine(sheet) {
  await sheet.evaluate(() => window.lastbeaconBreak().catch(() => undefined))
  await sheet.getByRole("heading", { name: "Engine replaced" }).waitFor()
  await drawn(sheet)
  await press(sheet, "^Try it once more", 0)
}

const widths = [360, 768, 1280]

/** The actions with their weights. */
export const actions = [
  [14, async (sheet, d) => {
    const files = Array.from({ length: 1 + d.below(3) }, () => d.of(stock))
    await drop(sheet, files)
    return `drop ${files.map((f) => f.name).join(", ")}`
  }],
  [22, async (sheet, d) => `press ${await press(sheet, ".", d.next())}`],
  [8, async (sheet, d) => `decide ${await press(sheet, "^(Make |Put it right|Day first|Month first|Note it|It was so|Read |Try |Undo the last|Remove)", d.next())}`],
  [4, async (sheet, d) => `remove ${await press(sheet, "^Remove", d.next())}`],
  [18, async (sheet, d) => {
    const text = d.of(words)
    return `type ${JSON.stringify(text.slice(0, 20))} into ${await type(sheet, text, d.next())}`
  }],
  [10, async (sheet, d) => `choose ${await choose(sheet, d.next(), d.next())}`],
  [9, async (sheet) => `undo ${await press(sheet, "^Undo", 0)}`],
  [5, async (sheet) => `redo ${await press(sheet, "^Redo", 0)}`],
  [5, async (sheet, d) => zoom(sheet, d.of(keys), d.next())],
  [3, async (sheet, d) => `save ${await press(sheet, "^Save", d.next())}`],
  [2, async (sheet) => {
    await sheet.evaluate((text) => {
      const data = new DataTransfer()
      data.setData("text/plain", text)
      window.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true }))
    }, lines)
    return "paste lines"
  }],
  [3, async (sheet, d) => `give back ${await giveBack(sheet, d.of(given))}`],
  [4, async (sheet, d) => `save for others ${await saveForOthers(sheet, d)}`],
  [6, async (sheet, d) => `answer ${await answerFile(sheet, d)}`],
  [1, async (sheet) => (await grow(sheet), "a log that grows")],
  [1, async (sheet) => (await breakEngine(sheet), "the engine breaks")],
  [2, async (sheet, d) => {
    const width = d.of(widths)
    await sheet.setViewportSize({ width, height: 900 })
    return `window ${width} px wide`
  }],
]

const total = () => actions.reduce((n, [weight]) => n + weight, 0)

/** Does one random action and says what it was. */
export function act(sheet, d) {
  let at = d.next() * total()
  for (const [weight, run] of actions) if ((at -= weight) < 0) return run(sheet, d)
  return actions[0][1](sheet, d)
}
