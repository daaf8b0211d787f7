// What the build folds in: Go's own runtime for the browser, and the digests of the blocks that the policy cannot cover.
declare module "go-runtime"

/** SHA-256, hex, of the text of each block in the page, by the block's id. */
declare const BLOCK_DIGESTS: Readonly<Record<string, string>>

/** What a style-src policy says of the sheet's own style: sha256-… */
declare const SHEET_HASH: string
