import { readdirSync, readFileSync } from 'node:fs'
import { join, relative } from 'node:path'
import { fileURLToPath } from 'node:url'

export const root = fileURLToPath(new URL('../..', import.meta.url))

export interface SourceFile {
  /** from the project's root, with slashes */
  readonly path: string
  readonly text: string
}

/** Every TypeScript file under the given top-level folders; what runs in a browser goes by rules of its own. */
export function sourceFiles(...folders: string[]): SourceFile[] {
  return folders.flatMap((folder) =>
    readdirSync(join(root, folder), { withFileTypes: true, recursive: true })
      .filter((entry) => entry.isFile() && entry.name.endsWith('.ts'))
      .map((entry) => join(entry.parentPath, entry.name))
      .filter((file) => !file.includes(join('src', 'web', 'page')))
      .map((file) => ({
        path: relative(root, file).replaceAll('\\', '/'),
        text: readFileSync(file, 'utf8'),
      })),
  )
}
