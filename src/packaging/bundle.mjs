// Bundles the compiled program into dist/bundle/: a few files instead of hundreds, since each file that is opened costs
// an SD card a seek. What holds machine code stays outside, in node_modules.

import { rmSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { build } from 'esbuild'

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
const folder = join(root, 'dist', 'bundle')

/** Packages with machine code of their own: they find it beside themselves. */
export const nativePackages = ['@photostructure/sqlite', 'serialport', 'better-sqlite3']

export async function bundle() {
  rmSync(folder, { recursive: true, force: true })
  const result = await build({
    absWorkingDir: root,
    // Names of the files in dist/bundle/, as src/runtime/installation.ts expects them.
    entryPoints: {
      ridgepost: 'src/cli/main.ts',
      worker: 'src/radio/worker.ts',
      deadManHelper: 'src/ptt/deadManHelper.ts',
      ownWorker: 'src/services/own/ownWorker.ts',
    },
    outdir: folder,
    bundle: true,
    // One copy of what several commands and threads share, loaded only by those that need it.
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
  return result.metafile
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await bundle()
