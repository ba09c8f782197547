import { readdirSync, readFileSync, statSync } from 'node:fs'
import { extname, join } from 'node:path'
import { gzipSync } from 'node:zlib'

/** A file of the page, ready to be sent. */
export interface PageFile {
  readonly type: string
  readonly octets: Uint8Array
  readonly gzipped: Uint8Array
  /** its name changes with its content */
  readonly isLasting: boolean
}

const types: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.json': 'application/json',
}

/**
 * Reads the page as Vite made it: a few files of less than a megabyte, which are then in memory. What is asked for is looked
 * up by name, so that no path leads anywhere else.
 * @returns by path, such as '/assets/index-1a2b.js'; empty where it was not built
 */
export function readPageFiles(folder: string): ReadonlyMap<string, PageFile> {
  const files = new Map<string, PageFile>()
  if (statSync(join(folder, 'index.html'), { throwIfNoEntry: false }) === undefined) return files
  for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
    const type = types[extname(entry.name)]
    if (!entry.isFile() || type === undefined) continue
    const file = join(entry.parentPath, entry.name)
    const octets = readFileSync(file)
    const path = file.slice(folder.length).replaceAll('\\', '/')
    const isLasting = path.startsWith('/assets/')
    files.set(path, { type, octets, gzipped: gzipSync(octets), isLasting })
  }
  return files
}
