// Pictures of the built page for a person to look at: dist/pictures/*.png and the printed sheet as PDF.
import { mkdirSync } from "node:fs"
import { join } from "node:path"
import { drawn, open, page, samplePage, settled, web } from "./browser/open.mjs"

const out = join(web, "..", "dist", "pictures")
mkdirSync(out, { recursive: true })

async function picture(name, path, options, prepare = drawn) {
  const { sheet, close } = await open(path, options)
  await prepare(sheet)
  await sheet.screenshot({ path: join(out, `${name}.png`), fullPage: true })
  await close()
}

const example = async (sheet) => {
  await sheet.getByRole("button", { name: "Try the example" }).click()
  await settled(sheet)
}

for (const width of [1280, 768, 360]) {
  for (const dark of [false, true]) {
    const look = `${width}-${dark ? "dark" : "light"}`
    await picture(`empty-${look}`, page, { width, dark })
    await picture(`sample-${look}`, samplePage, { width, dark })
    await picture(`reading-${look}`, samplePage, { width, dark, hash: "#reading" })
    await picture(`example-${look}`, page, { width, dark }, example)
  }
}
await picture("sample-1280-forced", samplePage, { width: 1280, forced: true })

const { sheet, close } = await open(page)
await example(sheet)
await sheet.pdf({ path: join(out, "example.pdf"), preferCSSPageSize: true, printBackground: true })
await close()
