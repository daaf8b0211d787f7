/** The page's frame around the texts of its style, script and blocks. */
export function skeleton(parts: { policy: string; css: string; script: string; blocks: readonly (readonly [string, string])[] }): string
