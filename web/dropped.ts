// What can be dropped or pasted, on both sides of the worker.

/** A file, a handle to a file that may grow, or bytes. */
export type Evidence = File | FileSystemFileHandle | Uint8Array

/** A handle gives the file as it is now, so a log that grew is read to its new end. */
export async function fileOf(source: File | FileSystemFileHandle): Promise<File> {
  return source instanceof File ? source : source.getFile()
}
