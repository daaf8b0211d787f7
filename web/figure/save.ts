// Saving: a figure as SVG or PNG in the light look, and any bytes as a file. Nothing leaves the page but by the reader's hand.
import { sheetStyle } from "./style.ts"

/** Gives a file to the reader. */
export function saveAs(name: string, type: string, content: BlobPart) {
  const url = URL.createObjectURL(new Blob([content], { type }))
  const link = document.createElement("a")
  link.href = url
  link.download = name
  document.body.append(link)
  link.click()
  link.remove()
  setTimeout(() => URL.revokeObjectURL(url), 10_000)
}

/** A file name made of a title: lower case, hyphens. */
export function fileName(title: string, ending: string): string {
  const plain = title.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "").slice(0, 60)
  return `${plain || "lastbeacon"}.${ending}`
}

/** The first set of tokens, the light one, as names and values. */
export function lightTokens(css: string): Map<string, string> {
  const block = css.slice(css.indexOf("{") + 1, css.indexOf("}"))
  const found = new Map<string, string>()
  for (const [, name = "", value = ""] of block.matchAll(/(--[\w-]+):\s*([^;]+);/g)) found.set(name, value.trim())
  return found
}

const unitClasses = ["u1", "u2", "u3", "u4", "plain"]

/** The rules of figures within the style of the whole sheet: they begin with the colours of the first unit. */
export function figureRules(sheet: string): string {
  return sheet.slice(sheet.search(/\.u1\s*\{/))
}

/** The figure's style without variables, since not every reader of SVG knows them: light values, and a rule for each unit. */
export function plainStyle(figure: string, tokens: ReadonlyMap<string, string>): string {
  const light = figure.replace(/var\((--[\w-]+)\)/g, (whole, name: string) => tokens.get(name) ?? whole)
  const rules = [...(light.split("@media")[0] ?? "").matchAll(/([^{}]+)\{([^{}]*)\}/g)].map(([, selector = "", body = ""]) => ({ selector, body }))
  const out: string[] = []
  for (const { selector, body } of rules) {
    if (body.includes("--unit:")) continue
    if (!body.includes("var(")) out.push(`${selector}{${body}}`)
    else for (const unit of unitClasses) out.push(ofUnit(unit, selector, body, rules))
  }
  return out.join("")
}

/** A rule that speaks of the unit's colours, for one unit. */
function ofUnit(unit: string, selector: string, body: string, rules: readonly { selector: string; body: string }[]): string {
  const own = rules.find((r) => r.selector.trim() === `.${unit}`)?.body ?? ""
  const colour = (name: string) => new RegExp(`--${name}:\\s*([^;]+)`).exec(own)?.[1]?.trim() ?? "none"
  const within = selector.split(",").filter((s) => s.includes(".figure ")).map((s) => s.replace(".figure ", `.figure .${unit} `))
  return `${within.join(",")}{${body.replace(/var\(--(unit|tint)\)/g, (_, name: string) => colour(name))}}`
}

/** A drawn figure as a file of its own, after its words went through edit. */
export function svgText(svg: SVGSVGElement, edit: (text: string) => string): string {
  const copy = svg.cloneNode(true) as SVGSVGElement
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg")
  copy.setAttribute("class", "figure")
  const words = document.createTreeWalker(copy, NodeFilter.SHOW_TEXT)
  while (words.nextNode()) words.currentNode.nodeValue = edit(words.currentNode.nodeValue ?? "")
  const style = document.createElementNS("http://www.w3.org/2000/svg", "style")
  style.textContent = plainStyle(figureRules(sheetStyle()), lightTokens(sheetStyle()))
  const paper = document.createElementNS("http://www.w3.org/2000/svg", "rect")
  for (const [name, value] of [["width", "100%"], ["height", "100%"], ["fill", "#fcfbf7"]] as const) paper.setAttribute(name, value)
  copy.prepend(style, paper)
  return new XMLSerializer().serializeToString(copy)
}

/** The figure as PNG at twice its size, after its words went through edit. */
export async function pngOf(svg: SVGSVGElement, edit: (text: string) => string): Promise<Blob> {
  const url = URL.createObjectURL(new Blob([svgText(svg, edit)], { type: "image/svg+xml" }))
  try {
    const image = new Image()
    image.src = url
    await image.decode()
    const canvas = document.createElement("canvas")
    canvas.width = svg.width.baseVal.value * 2
    canvas.height = svg.height.baseVal.value * 2
    canvas.getContext("2d")?.drawImage(image, 0, 0, canvas.width, canvas.height)
    return await new Promise((done, fail) => canvas.toBlob((b) => (b ? done(b) : fail(new Error("the picture is too large for this browser"))), "image/png"))
  } finally {
    URL.revokeObjectURL(url)
  }
}
