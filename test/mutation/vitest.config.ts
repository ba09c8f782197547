import { resolve } from 'node:path'
import { defineConfig } from 'vitest/config'

/** One change of one source file, made as it is loaded: nothing is written to the disk. */
interface Mutant {
  readonly file: string
  readonly from: string
  readonly to: string
}

const mutant = JSON.parse(process.env.MUTANT ?? 'null') as Mutant | null
const root = resolve(import.meta.dirname, '../..')

export default defineConfig({
  root,
  plugins: [
    {
      name: 'mutant',
      enforce: 'pre',
      transform(code, id) {
        if (mutant === null || id.split('?')[0] !== resolve(root, mutant.file)) return undefined
        if (code.split(mutant.from).length !== 2)
          throw new Error(`${mutant.file}: "${mutant.from}" stands there not once`)
        return code.replace(mutant.from, () => mutant.to)
      },
    },
  ],
  test: {
    include: process.env.MUTATION_TESTS?.split(' ') ?? ['test/**/*.test.ts'],
    setupFiles: ['test/setup.ts'],
    testTimeout: 60_000,
    pool: 'forks',
    bail: 1,
  },
})
