// Has zstddec give away its WebAssembly, and nothing else: what the package wraps around it gets it by a fetch, which the page's policy
// forbids, and keeps its memory for ever.
import { readFileSync } from "node:fs"

/** @type {import("esbuild").Plugin} */
export const bareDecoder = {
  name: "bare decoder",
  setup(build) {
    build.onLoad({ filter: /zstddec\.mjs$/ }, ({ path }) => ({ contents: `${readFileSync(path, "utf8")}\nexport { wasm }` }))
  },
}
