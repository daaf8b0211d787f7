// A bench from outside: what the schema knows of it. What its values mean is for the engine to check.
import { shapes, type Bench } from "../bench.gen.ts"
import { property, ShapeFault, Shaper } from "./shape.ts"

const benchSchema = "lastbeacon.bench/1"

/** No bench needs as many objects; a file made to hurt may. */
const mostObjects = 20_000

/** The bench of a bench file's text. Null: the text is something else. */
export function benchFrom(text: string): Bench | null {
  const found = parsed(text)
  const schema = property(found, "schema")
  if (schema === benchSchema) return new Shaper(shapes, "the bench", mostObjects).of(found, "Bench", "") as Bench
  if (typeof schema !== "string" || !schema.startsWith("lastbeacon.bench/")) return null
  throw new ShapeFault(`it is of the schema ${schema.slice(0, 60)}; this program reads ${benchSchema}`)
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text.replace(/^\ufeff/, ""))
  } catch {
    return null
  }
}
