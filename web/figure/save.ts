// Saving: a figure as SVG or PNG in the light look, and any bytes as a file. Nothing leaves the page but by the reader's hand.
import figureCSS from "../css/figure.css"
import tokensCSS from "../css/tokens.css"

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

/** The figure's style with every token replaced by its light value, since not every reader of SVG knows variables. */
export function figureStyle(): string {
  const tokens = lightTokens(tokensCSS)
  return figureCSS.replace(/var\((--[\w-]+)\)/g, (whole, name: string) => tokens.get(name) ?? whole)
}

/** A drawn figure as a file of its own. */
export function svgText(svg: SVGSVGElement): string {
  const copy = svg.cloneNode(true) as SVGSVGElement
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg")
  copy.setAttribute("class", "figure")
  const style = document.createElementNS("http://www.w3.org/2000/svg", "style")
  style.textContent = figureStyle()
  const paper = document.createElementNS("http://www.w3.org/2000/svg", "rect")
  for (const [name, value] of [["width", "100%"], ["height", "100%"], ["fill", "#fcfbf7"]] as const) paper.setAttribute(name, value)
  copy.prepend(style, paper)
  return new XMLSerializer().serializeToString(copy)
}

/** The figure as PNG at twice its size. */
export async function pngOf(svg: SVGSVGElement): Promise<Blob> {
  const url = URL.createObjectURL(new Blob([svgText(svg)], { type: "image/svg+xml" }))
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
