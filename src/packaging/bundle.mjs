// Bundles the program into dist/bundle/: a few files instead of hundreds, since each file that is opened costs
// an SD card a seek. What holds machine code stays outside, in node_modules.

import { readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { build } from 'esbuild'
import { writeTypes } from './types.mjs'

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
const folder = join(root, 'dist', 'bundle')

/** Packages with machine code of their own: they find it beside themselves. */
export const nativePackages = ['@photostructure/sqlite', '@serialport/bindings-cpp']

/**
 * Each is bundled by itself. They never meet in one thread, so each has its own copy of what it needs, in few files: one that is
 * shared with others is parted where any of them needs less. Names of the files in dist/bundle/, as src/runtime/installation.ts
 * expects them.
 */
const programs = [
  { ridgepost: 'src/cli/main.ts', testing: 'src/services/own/testKit.ts' },
  { worker: 'src/radio/worker.ts' },
  { deadManHelper: 'src/ptt/deadManHelper.ts' },
  { ownWorker: 'src/services/own/ownWorker.ts' },
]

export async function bundle() {
  rmSync(folder, { recursive: true, force: true })
  const inputs = new Set()
  for (const entryPoints of programs)
    for (const input of await bundleOne(entryPoints)) inputs.add(input)
  writeFileSync(join(folder, 'LICENSES.txt'), licences([...inputs]))
  writeTypes(root)
}

/** @returns the files that went in */
async function bundleOne(entryPoints) {
  const { metafile } = await build({
    absWorkingDir: root,
    entryPoints,
    outdir: folder,
    bundle: true,
    // One copy of what several commands share, loaded only by those that need it.
    splitting: true,
    chunkNames: 'part-[hash]',
    format: 'esm',
    platform: 'node',
    target: 'node20',
    external: nativePackages,
    // Packages in CommonJS form ask for Node's own modules through require.
    banner: {
      js: "import { createRequire as ridgepostRequire } from 'node:module'; const require = ridgepostRequire(import.meta.url);",
    },
    minifySyntax: true,
    keepNames: false,
    legalComments: 'none',
    logLevel: 'warning',
    metafile: true,
  })
  return Object.keys(metafile.inputs)
}

/** The licence of every package that went in: they ask that it comes along. */
function licences(inputs) {
  const packages = new Set()
  for (const input of inputs) {
    const [found] = /^.*node_modules\/(@[^/]+\/)?[^/]+/.exec(input) ?? []
    if (found !== undefined) packages.add(found)
  }
  const texts = [...packages].sort().map((one) => {
    const { name, version, license } = JSON.parse(
      readFileSync(join(root, one, 'package.json'), 'utf8'),
    )
    const file = readdirSync(join(root, one)).find((entry) => /^licen[cs]e/i.test(entry))
    const text = file === undefined ? '' : readFileSync(join(root, one, file), 'utf8').trim()
    return `${name} ${version} (${license})\n\n${text}\n`
  })
  const line = '-'.repeat(80)
  return `Packages that are part of these files:\n\n${texts.join(`\n${line}\n\n`)}`
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await bundle()
