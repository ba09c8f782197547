import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { dirname, join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { build, type Plugin } from 'esbuild'
import { root } from '../../tidy/sources.js'

/** A test file with all that it imports, as one script. */
export interface Bundle {
  readonly test: string
  readonly file: string
}

/**
 * @param tests paths from the root
 * @param texts of files that are to be taken in place of those on the disk, by absolute path
 * @returns and those that cannot stand in one script
 */
export async function bundled(
  tests: readonly string[],
  texts: ReadonlyMap<string, string>,
  folder: string,
): Promise<{ bundles: Bundle[]; leftOut: string[] }> {
  const bundles: Bundle[] = []
  const leftOut: string[] = []
  for (const test of tests) {
    const file = join(folder, `${test.replaceAll('/', '_')}.cjs`)
    try {
      await build({
        ...{ entryPoints: [join(root, test)], outfile: file, bundle: true, format: 'cjs' },
        ...{ platform: 'node', target: 'node20', logLevel: 'silent', external: natives },
        plugins: [forOneScript(texts)],
      })
      bundles.push({ test, file })
    } catch {
      leftOut.push(test)
    }
  }
  return { bundles, leftOut }
}

/** What brings modules of its own machine code finds them only from its own place. */
const natives = ['fsevents', 'serialport', '@serialport/*']

/** vitest is what collects (collected.ts); fast-check begins with the seed of test/setup.ts; import.meta is that of the source. */
const forOneScript = (texts: ReadonlyMap<string, string>): Plugin => ({
  name: 'one script',
  setup(building) {
    const fastCheck = createRequire(join(root, 'package.json')).resolve('fast-check')
    building.onResolve({ filter: /^vitest$/ }, () => ({ path: 'vitest', namespace: 'collected' }))
    building.onLoad({ filter: /.*/, namespace: 'collected' }, () => ({
      contents: 'module.exports = globalThis.collectedVitest',
      loader: 'js',
    }))
    building.onResolve({ filter: /^fast-check$/, namespace: 'file' }, () => ({
      ...{ path: 'fast-check', namespace: 'seeded' },
    }))
    building.onLoad({ filter: /.*/, namespace: 'seeded' }, () => ({
      contents: `const all = require(${JSON.stringify(fastCheck)}); all.configureGlobal({ seed: 1 }); module.exports = all`,
      ...{ loader: 'js', resolveDir: root },
    }))
    building.onLoad({ filter: /\.ts$/ }, ({ path }) => {
      if (path.includes('node_modules')) return undefined
      const contents = (texts.get(path) ?? readFileSync(path, 'utf8'))
        .replaceAll('import.meta.url', JSON.stringify(pathToFileURL(path).href))
        .replaceAll('import.meta.dirname', JSON.stringify(dirname(path)))
      return { contents, loader: 'ts' }
    })
  },
})
