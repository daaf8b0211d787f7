// Colour, mark and lane of a unit: circle, triangle, square, diamond; from the fifth unit on the same marks, hollow.

/** The class that gives a unit its colour: u1 to u4. */
export function unitClass(index: number): string {
  return `u${(index % 4) + 1}`
}

export function hollow(index: number): boolean {
  return Math.floor(index / 4) % 2 === 1
}

/** The outline of a unit's mark of half size r about a point, as an SVG path. */
export function markPath(index: number, x: number, y: number, r: number): string {
  const at = (dx: number, dy: number) => `${round(x + dx * r)},${round(y + dy * r)}`
  switch (index % 4) {
    case 0:
      return `M${at(-1, 0)}a${r},${r} 0 1 0 ${2 * r},0a${r},${r} 0 1 0 ${-2 * r},0z`
    case 1:
      return `M${at(0, -1.1)}L${at(1.1, 0.9)}L${at(-1.1, 0.9)}z`
    case 2:
      return `M${at(-0.9, -0.9)}L${at(0.9, -0.9)}L${at(0.9, 0.9)}L${at(-0.9, 0.9)}z`
    default:
      return `M${at(0, -1.2)}L${at(1.2, 0)}L${at(0, 1.2)}L${at(-1.2, 0)}z`
  }
}

/** Tenths of a pixel are enough, and keep a saved figure small. */
export function round(v: number): number {
  return Math.round(v * 10) / 10
}

/** A unit's mark within text. */
export function Mark({ index }: { index: number }) {
  return (
    <svg class={`mark ${unitClass(index)}`} width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">
      <path class={hollow(index) ? "hollow" : "solid"} d={markPath(index, 6, 6, 4.5)} />
    </svg>
  )
}

/** A unit's name with its mark, in its colour. */
export function UnitName({ index, name }: { index: number; name: string }) {
  return (
    <span class={`unit ${unitClass(index)}`}>
      <Mark index={index} />
      {name}
    </span>
  )
}
