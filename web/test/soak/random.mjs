// A seeded stream of choices, so that a sequence can be run again.

/** Gives numbers from 0 up to 1, the same for the same seed: xorshift over 32 bits, after mixing the seed. */
export function dice(seed) {
  let x = Math.imul(seed ^ 0x9e3779b9, 0x85ebca6b) || 1
  const next = () => {
    x ^= x << 13
    x ^= x >>> 17
    x ^= x << 5
    return (x >>> 0) / 2 ** 32
  }
  for (let k = 0; k < 8; k++) next()
  const below = (n) => Math.floor(next() * n)
  return { next, below, of: (list) => list[below(list.length)], chance: (p) => next() < p }
}
