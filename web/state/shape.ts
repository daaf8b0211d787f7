// What comes from outside, checked against a schema's shapes: a copy of what the schema knows, each value of its kind, and nothing
// else. What the values mean is not looked at.

/** The kinds of every property of every object, as generated from the core: ? may be left out, ~ may be null, [] a list. */
export type Shapes = Readonly<Record<string, Readonly<Record<string, string>>>>

/** A value is not what its schema says; the message says where. */
export class ShapeFault extends Error {
  override name = "ShapeFault"
}

const empty: Readonly<Record<string, unknown>> = { string: "", time: "", number: 0, instant: 0, boolean: false }

/** The end of the years that four figures write, in Unix ms. */
const latest = Date.UTC(9999, 11, 31)

/** Checks values against shapes. most: so many objects are held; a file made to hurt may have more. */
export class Shaper {
  private left: number

  constructor(private readonly shapes: Shapes, private readonly whole: string, private readonly most: number) {
    this.left = most
  }

  /** The value as one of a kind; at names where it stands. */
  of(value: unknown, kind: string, at: string): unknown {
    if (kind.endsWith("~")) return (value ?? null) === null ? null : this.of(value, kind.slice(0, -1), at)
    if (kind.endsWith("[]")) return this.list(value, kind.slice(0, -2).replace(/^\((.*)\)$/, "$1"), at)
    if (!Object.hasOwn(empty, kind)) return this.object(value, kind, at)
    const given = value ?? empty[kind]
    if (!isOf(kind, given)) throw new ShapeFault(`${at || this.whole}: a ${kind} is wanted`)
    return given
  }

  private object(value: unknown, kind: string, at: string): Record<string, unknown> {
    if (typeof value !== "object" || value === null || Array.isArray(value)) throw new ShapeFault(`${at || this.whole}: an object is wanted`)
    if (this.left-- === 0) throw this.tooMany(at)
    const out: Record<string, unknown> = {}
    for (const [name, wanted] of Object.entries(this.shapes[kind] ?? {})) {
      const optional = wanted.endsWith("?")
      const inner = property(value, name) ?? undefined
      if (inner === undefined && optional) continue
      out[name] = this.of(inner, optional ? wanted.slice(0, -1) : wanted, at ? `${at}.${name}` : name)
    }
    return out
  }

  private list(value: unknown, kind: string, at: string): unknown[] {
    if (!Array.isArray(value)) throw new ShapeFault(`${at}: a list is wanted`)
    if (value.length > this.most) throw this.tooMany(at)
    return value.map((item: unknown, i) => this.of(item, kind, `${at}[${i}]`))
  }

  private tooMany(at: string): ShapeFault {
    return new ShapeFault(`${at}: ${this.whole} holds at most ${this.most} objects`)
  }
}

/** An object's own property, undefined where it has none. */
export function property(of: unknown, name: string): unknown {
  return typeof of === "object" && of !== null && Object.hasOwn(of, name) ? (of as Record<string, unknown>)[name] : undefined
}

function isOf(kind: string, value: unknown): boolean {
  if (kind === "time") return typeof value === "string" && /^\d{4}-/.test(value) && Number.isFinite(Date.parse(value))
  if (kind === "instant") return typeof value === "number" && Math.abs(value) < latest
  return typeof value === kind && (kind !== "number" || Number.isFinite(value))
}
