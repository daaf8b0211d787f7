/** Bytes as text that may stand in a script element of a UTF-8 page. */
export function textOf(bytes: Uint8Array): string

/** The bytes of such a text. */
export function bytesOf(text: string): Uint8Array<ArrayBuffer>
