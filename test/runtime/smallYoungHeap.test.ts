import { spawnSync } from 'node:child_process'
import { resolve } from 'node:path'
import { expect, it } from 'vitest'

const root = resolve(import.meta.dirname, '../..')

/** MB of the heap's young part after much that lives for a while. */
function youngMb(prelude: string): number {
  const program = `${prelude}
    const kept = []
    for (let count = 0; count < 2e6; count++) kept[count % 100_000] = { count, pair: [count, count] }
    const { getHeapSpaceStatistics } = await import('node:v8')
    console.log(getHeapSpaceStatistics().find((space) => space.space_name === 'new_space').space_size / 2 ** 20)`
  const { stdout, stderr } = spawnSync(
    process.execPath,
    ['--import', 'tsx', '--input-type=module', '--eval', program],
    { cwd: root, encoding: 'utf8' },
  )
  expect(stderr).toBe('')
  return Number(stdout)
}

it('the young heap stays as small as it begins, where it would have grown', () => {
  const kept = `import { keepYoungHeapSmall } from './src/runtime/smallYoungHeap.ts'
    keepYoungHeapSmall()`
  expect(youngMb('')).toBeGreaterThan(16)
  // 2, and what a collection under way counts besides: Node 24 reads up to 4.75 then.
  expect(youngMb(kept)).toBeLessThan(8)
})
