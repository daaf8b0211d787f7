// The weight of the built page, for the test and for `make size`.
import { readFileSync } from "node:fs"
import { join } from "node:path"
import { fileURLToPath } from "node:url"

const file = join(fileURLToPath(new URL("../..", import.meta.url)), "dist", "lastbeacon.html")

export const pageSize = () => readFileSync(file).length

/** The bytes of each style and script in the page, by its id. */
export function partSizes() {
  const html = readFileSync(file, "utf8")
  const parts = {}
  for (const [, , id, text] of html.matchAll(/<(script|style)[^>]*id="([\w-]+)"[^>]*>([^]*?)<\/\1>/g)) parts[id] = Buffer.byteLength(text)
  return parts
}
