import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { root } from '../../tidy/sources.js'
import { findMutant } from './findMutant.js'
import { mutants } from './mutants.js'

describe('mutation check of the oracle', () => {
  it('each change still has its place in the sources, once', () => {
    const lost = mutants.filter(
      ({ file, find }) => readFileSync(join(root, file), 'utf8').split(find).length !== 2,
    )
    expect(lost.map(({ name, file }) => `${file}: ${name}`)).toEqual([])
    expect(mutants.length).toBeGreaterThanOrEqual(12)
  })

  // All of them: npm run bench -- campaign-mutants
  it.each([['sends over others'], ['each copy is a new question']])(
    '%s: is found',
    async (name) => {
      const mutant = mutants.find((one) => one.name === name)!
      const found = await findMutant(mutant, { fromSeed: 1, days: 5, hours: 2 })
      expect(mutant.breaks).toContain(found?.promises[0])
    },
  )
})
