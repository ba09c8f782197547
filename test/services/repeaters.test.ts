import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { loadRepeaters, repeaterIndex } from '../../src/services/repeaters/directory.js'
import type { PlacedRepeater } from '../../src/services/repeaters/entry.js'
import { repeatersService } from '../../src/services/repeaters.js'
import { answerOf, testContext } from './testContext.js'

const hour = 3_600_000
const sample = fileURLToPath(new URL('../../samples/hilltop/repeaters.csv', import.meta.url))
const { index, rejected, entries } = await loadRepeaters(sample)
const options = { directory: () => index, rangeM: 400_000, positionAgeMaxMs: 12 * hour }
const service = repeatersService(options)
const at = (latitudeDeg: number, longitudeDeg: number, ageMs = 0) =>
  testContext({ askerPosition: { latitudeDeg, longitudeDeg, ageMs } })

describe('repeaters', () => {
  it('reads the sample directory whole', () => {
    expect(rejected).toEqual([])
    expect(entries).toHaveLength(25)
  })

  it('answers one line a repeater, nearest first, measured from the asker', async () => {
    expect(await answerOf(service, '2', at(45.2, -36.8))).toEqual([
      'Old Quarry Q1QRY 442.825+5MHz DCS 023 5.4km WSW of you',
      'Heron Knob Q1ASH 146.940-0.6MHz tone 100Hz 5.7km NE of you',
    ])
  })

  it('says when it measured from the node, because the asker is unknown or was heard long ago', async () => {
    expect((await answerOf(service, '1'))[0]).toMatch(/ of node$/)
    expect((await answerOf(service, '1', at(44, -36, 13 * hour)))[0]).toMatch(/ of node$/)
  })

  it('says how old the position is once that may matter', async () => {
    expect((await answerOf(service, '1', at(45.2, -36.8, 3 * hour)))[0]).toMatch(/ of you 3h ago$/)
  })

  it('takes a band by name or by MHz, in any order', async () => {
    const names = async (text: string) =>
      (await answerOf(service, text)).map((line) => / (\d+\.\d+)[-+ ]/.exec(line)?.[1])
    for (const text of ['2 70cm', '70cm 2', '2 440', '2 70CM'])
      expect(await names(text)).toEqual(['442.825', '444.100'])
    expect(await names('1 23cm')).toEqual(['1292.400'])
    expect(await names('146.94')).toEqual(['146.940'])
    expect(await names('6m')).toEqual(['53.110'])
  })

  it('gives three unless asked, and at most ten', async () => {
    expect(await answerOf(service, '')).toHaveLength(3)
    const told = async (text: string): Promise<number> =>
      (await answerOf(service, text)).join('; ').split('; ').length
    expect(await told('9')).toBe(9)
    expect(await told('25')).toBe(10)
    expect(await told('99')).toBe(10)
    expect(await told('all')).toBe(10)
  })

  it('fits every repeater into one message, however long its name', async () => {
    const long: PlacedRepeater = {
      name: 'The Very Long Name Of A Mountain That Nobody Would Ever Write Down',
      call: 'Q1LONG',
      outputMHz: 438.7125,
      offset: { sign: -1, shiftMHz: 7.6 },
      accessTone: { kind: 'tone', toneHz: 186.2 },
      mode: 'FM',
      latitudeDeg: 46,
      longitudeDeg: -38,
    }
    const one = repeaterIndex([long])
    const [line] = await answerOf(
      repeatersService({ ...options, directory: () => one }),
      '',
      at(45.2, -36.8, 3 * hour),
    )
    expect(line).toMatch(
      /^The Very? Q1LONG 438\.7125-7\.6MHz tone 186\.2Hz 129km NW of you 3h ago$/,
    )
    expect(line!.length).toBeLessThanOrEqual(67)
  })

  it('says what it did not understand, and what it has not', async () => {
    const two = await answerOf(service, '2')
    expect(await answerOf(service, '2 purple')).toEqual([...two, '"purple" is not known here.'])
    expect(await answerOf(service, '2 13cm')).toEqual(['No 13cm repeater within 400km of node.'])
    expect(await answerOf(service, '1', at(-45, 140))).toEqual(['No repeater within 400km of you.'])
    const bare = repeatersService({ ...options, directory: () => undefined })
    expect(await answerOf(bare, '')).toEqual(['No repeater directory is loaded here.'])
    const lost = testContext({ node: { ...testContext().node, position: undefined } })
    expect(await answerOf(service, '', lost)).toEqual([
      'Where are you? Send a position, or add a locator: repeaters HN15pf',
    ])
  })

  it('gives miles where the node is set so', async () => {
    const context = testContext({ node: { ...testContext().node, units: 'miles' } })
    expect((await answerOf(service, '1', context))[0]).toMatch(/ 3\.4mi WSW of node$/)
  })
})
