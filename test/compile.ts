// Tests and benchmarks that start processes and threads run plain JavaScript. It is made of the sources at the start of every
// run, so that nothing stale is ever tested; so is the page. Types are checked by `npm run check`; this only takes them away.
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { dirname, join, relative, sep } from 'node:path'
import { build } from 'esbuild'

const root = join(import.meta.dirname, '..')
const layers = ['src', 'dsp']

/** All but what runs in a browser, which Vite builds. */
const sourcesIn = (layer: string): string[] =>
  readdirSync(join(root, layer), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && entry.name.endsWith('.ts'))
    .map((entry) => relative(root, join(entry.parentPath, entry.name)))
    .filter((file) => !file.startsWith(join('src', 'web', 'page') + sep))

/** Turns each source into dist/ with the same path. What is the same already is left alone: another run may be reading it. */
export default async function compile(): Promise<void> {
  const { outputFiles } = await build({
    absWorkingDir: root,
    entryPoints: layers.flatMap((layer) => sourcesIn(layer)),
    outbase: '.',
    outdir: 'dist',
    format: 'esm',
    platform: 'node',
    target: 'node20',
    sourcemap: 'inline',
    logLevel: 'warning',
    write: false,
  })
  const made = new Set(outputFiles.map(({ path }) => path))
  for (const { path, text } of outputFiles) {
    if (existsSync(path) && readFileSync(path, 'utf8') === text) continue
    mkdirSync(dirname(path), { recursive: true })
    writeFileSync(path, text)
  }
  for (const layer of layers) {
    const folder = join(root, 'dist', layer)
    for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
      const path = join(entry.parentPath, entry.name)
      if (entry.isFile() && !made.has(path)) rmSync(path)
    }
  }
  // Here, once: test files run side by side, and a build empties the folder first.
  const page = join(root, 'src', 'packaging', 'page.mjs')
  const built = spawnSync(process.execPath, [page, '--if-older'], { encoding: 'utf8' })
  if (built.status !== 0) throw new Error(`the page cannot be built: ${built.stderr}`)
}
