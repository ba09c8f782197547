import { join } from 'node:path'
import { build, type Plugin } from 'esbuild'
import { root } from '../../tidy/sources.js'
import type { Mutant } from './mutants.js'

/** Compiles the campaign with the mutant's change in the program. @returns the file to run */
export async function compileMutant({ file, find, replace, name }: Mutant): Promise<string> {
  const { readFile } = await import('node:fs/promises')
  const change: Plugin = {
    name: 'mutant',
    setup({ onLoad }) {
      onLoad({ filter: /\.ts$/ }, async ({ path }) => {
        if (path !== join(root, file)) return undefined
        const text = await readFile(path, 'utf8')
        if (text.split(find).length !== 2) throw new Error(`${file}: not once: ${find}`)
        return { contents: text.replace(find, () => replace), loader: 'ts' }
      })
    },
  }
  // Inside the project, where its packages are found.
  const outfile = join(root, 'dist', 'mutants', `${name.replaceAll(/\W+/g, '-')}.mjs`)
  await build({
    entryPoints: [join(root, 'test/campaign/mutation/liveDays.ts')],
    outfile,
    bundle: true,
    packages: 'external',
    format: 'esm',
    platform: 'node',
    target: 'node20',
    logLevel: 'error',
    plugins: [change],
  })
  return outfile
}
