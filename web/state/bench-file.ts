// A bench from outside: a copy of what the schema knows, each value of the kind that the schema gives it, and nothing else. What
// the values mean is for the engine to check.
import { shapes, type Bench } from "../bench.gen.ts"

/** A text that would be a bench but cannot be taken; the message says where it is wrong. */
export class BenchFault extends Error {
  override name = "BenchFault"
}

const benchSchema = "lastbeacon.bench/1"

/** No bench needs as many objects; a file made to hurt may. */
const mostObjects = 20_000

/** The bench of a bench file's text. Null: the text is something else. */
export function benchFrom(text: string): Bench | null {
  const found = parsed(text)
  const schema = property(found, "schema")
  if (schema === benchSchema) return taken(found)
  if (typeof schema !== "string" || !schema.startsWith("lastbeacon.bench/")) return null
  throw new BenchFault(`it is of the schema ${schema.slice(0, 60)}; this program reads ${benchSchema}`)
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text.replace(/^\ufeff/, ""))
  } catch {
    return null
  }
}

function property(of: unknown, name: string): unknown {
  return typeof of === "object" && of !== null && Object.hasOwn(of, name) ? (of as Record<string, unknown>)[name] : undefined
}

function taken(found: unknown): Bench {
  return object(found, "Bench", "the bench", { left: mostObjects }) as unknown as Bench
}

interface Budget {
  left: number
}

function object(value: unknown, kind: string, at: string, budget: Budget): Record<string, unknown> {
  if (typeof value !== "object" || value === null || Array.isArray(value)) throw new BenchFault(`${at}: an object is wanted`)
  if (budget.left-- === 0) throw new BenchFault(`${at}: a bench holds at most ${mostObjects} objects`)
  const out: Record<string, unknown> = {}
  for (const [name, wanted] of Object.entries(shapes[kind] ?? {})) {
    const optional = wanted.endsWith("?")
    const inner = property(value, name) ?? undefined
    if (inner === undefined && optional) continue
    out[name] = of(inner, optional ? wanted.slice(0, -1) : wanted, kind === "Bench" ? name : `${at}.${name}`, budget)
  }
  return out
}

const empty: Readonly<Record<string, unknown>> = { string: "", number: 0, boolean: false }

function of(value: unknown, kind: string, at: string, budget: Budget): unknown {
  if (kind.endsWith("[]")) return list(value, kind.slice(0, -2), at, budget)
  if (!Object.hasOwn(empty, kind)) return object(value, kind, at, budget)
  const given = value ?? empty[kind]
  if (typeof given !== kind) throw new BenchFault(`${at}: a ${kind} is wanted`)
  return given
}

function list(value: unknown, kind: string, at: string, budget: Budget): unknown[] {
  if (!Array.isArray(value)) throw new BenchFault(`${at}: a list is wanted`)
  if (value.length > mostObjects) throw new BenchFault(`${at}: a bench holds at most ${mostObjects} objects`)
  return value.map((item: unknown, i) => of(item, kind, `${at}[${i}]`, budget))
}
