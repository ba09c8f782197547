// Builds the operator's page into dist/page/: a few files, which the program serves. With --if-older only where a source of it
// is newer than what was built.
import { existsSync, readdirSync, statSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
const sources = join(root, 'src', 'web', 'page')
const folder = join(root, 'dist', 'page')

const newest = (place) =>
  readdirSync(place, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .reduce(
      (latest, entry) => Math.max(latest, statSync(join(entry.parentPath, entry.name)).mtimeMs),
      0,
    )

function isUpToDate() {
  const built = join(folder, 'index.html')
  return existsSync(built) && statSync(built).mtimeMs > newest(sources)
}

export async function buildPage() {
  const { build } = await import('vite')
  await build({
    configFile: false,
    root: sources,
    base: '/',
    logLevel: 'warn',
    oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
    build: {
      outDir: folder,
      emptyOutDir: true,
      target: 'es2022',
      modulePreload: { polyfill: false },
      assetsInlineLimit: 0,
    },
  })
}

if (process.argv[1] === fileURLToPath(import.meta.url))
  if (!(process.argv.includes('--if-older') && isUpToDate())) await buildPage()
