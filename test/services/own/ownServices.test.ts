import { copyFileSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { systemClock } from '../../../src/runtime/systemClock.js'
import { type VirtualClock, virtualClock } from '../../../src/runtime/virtualClock.js'
import { dispatch } from '../../../src/services/dispatch.js'
import {
  type OwnServiceEvent,
  type OwnServices,
  openOwnServices,
} from '../../../src/services/own/ownServices.js'
import type { Service } from '../../../src/services/service.js'
import { answerOf, testContext } from '../testContext.js'
import { builtThread } from './builtThread.js'

const threadEntry = builtThread()
afterAll(() => rmSync(new URL('../..', threadEntry), { recursive: true }))

let folder: string
let own: OwnServices | undefined
let services: readonly Service[]
let events: OwnServiceEvent[]
let clock: VirtualClock

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'own-'))
  services = []
  events = []
  clock = virtualClock()
})
afterEach(async () => {
  await own?.close()
  rmSync(folder, { recursive: true })
})

const write = (name: string, body: string, keyword = name): void =>
  writeFileSync(
    join(folder, `${name}.mjs`),
    `export default { keyword: '${keyword}', summary: 'for the test', usage: '${keyword}', ${body} }\n`,
  )
async function open(more = {}): Promise<void> {
  own = openOwnServices({
    folder,
    clock,
    timeLimitMs: 2000,
    memoryMb: 32,
    threadEntry,
    taken: ['help', 'sun'],
    onChange: (found) => {
      services = found
    },
    onEvent: (event) => events.push(event),
    ...more,
  })
  await own.ready
}
const keywords = () => services.map((service) => service.keyword)
const service = (keyword: string) => services.find((one) => one.keyword === keyword)!
/** A change is taken up when two looks have seen it alike. */
const lookTwice = async (): Promise<void> => {
  await own!.look()
  await own!.look()
}
const faults = () => events.filter((event) => event.kind === 'fault')

describe('own services', () => {
  it('run from the sources too, as `ask` does while one develops', async () => {
    write('plain', "answer: () => 'yes'")
    await open({ threadEntry: undefined, clock: systemClock(), timeLimitMs: 60_000 })
    expect(await answerOf(service('plain'), '')).toEqual(['yes'])
  })

  it('the template answers, its test left alone, with what the context tells', async () => {
    for (const name of ['tide.mjs', 'tide.test.mjs'])
      copyFileSync(
        fileURLToPath(new URL(`../../../samples/services/${name}`, import.meta.url)),
        join(folder, name),
      )
    await open()
    expect(faults()).toEqual([])
    expect(keywords()).toEqual(['tide'])
    expect(await answerOf(service('tide'), 'salt')).toEqual(['Saltwick: high water 05:55 18:20'])
    const askerPosition = { latitudeDeg: 45.25, longitudeDeg: -36.7, ageMs: 0 }
    expect(await answerOf(service('tide'), '', testContext({ askerPosition }))).toEqual([
      'Coldwell, 30km N: high water 05:40 18:05',
    ])
  })

  it('get a copy of question and context, and may answer by promise and with a list', async () => {
    write(
      'echo',
      `messagesMax: 5, async answer(question, context) {
        return [question.from, question.words.join('+'), context.node.call, String(context.nowWallMs),
          String(context.stations.length), typeof context.clock]
      }`,
    )
    await open()
    const context = testContext()
    expect(service('echo').messagesMax!({} as never)).toBe(5)
    expect(await answerOf(service('echo'), 'a  b', context)).toEqual([
      'N0CALL-7',
      'a+b',
      'N0CALL-10',
      String(context.clock.wallMs()),
      '0',
      'undefined',
    ])
  })

  it.each([
    ['no default export', 'export const x = 1', /exports no default/],
    ['a keyword that is none', "export default { keyword: 'My Keyword' }", /keyword: got "My/],
    [
      'no answer',
      "export default { keyword: 'abc', summary: 's', usage: 'u' }",
      /answer: expected a function/,
    ],
    [
      'a summary that fits no message',
      `export default { keyword: 'abc', summary: '${'s'.repeat(68)}', usage: 'u', answer() {} }`,
      /summary: got/,
    ],
    [
      'a slip of the pen',
      'export default { keyword: ',
      /^Unexpected end of input; node --check bad\.mjs shows where$/,
    ],
    ['an error while it loads', "throw new Error('no data')", /no data \(bad\.mjs:1:7\)/],
    ['an import that is not there', "import './none.mjs'", /Cannot find module/],
    ['an end', 'process.exit(0)', /it ended/],
  ])('with %s are refused with the reason, and the others load', async (_, text, reason) => {
    writeFileSync(join(folder, 'bad.mjs'), text)
    write('good', "answer: () => 'yes'")
    await open()
    expect(keywords()).toEqual(['good'])
    expect(faults()).toEqual([
      { kind: 'fault', file: 'bad.mjs', reason: expect.stringMatching(reason) },
    ])
  })

  it('are known by synonyms, are for whom the operator lists, and have his settings', async () => {
    write(
      'duty-2',
      `synonyms: ['watch'], settings: { hours: { type: 'number', min: 1, default: 2 }, names: { type: 'texts', default: [] } },
       answer: ({ words }, { settings }) => ({ text: [words.join(' '), ...settings.names, String(settings.hours), 'x', 'y'], messagesMax: 6 })`,
    )
    await open({ settings: { 'duty-2': { names: ['A', 'B'], mayAsk: ['q1kit', 'Q2X-7'] } } })
    const told = async (from: string, text: string) =>
      (await dispatch({ id: `${from} ${text}`, from, text }, { services }, testContext())).messages
    expect(await told('Q1KIT-9', 'WATCH Tonight')).toEqual(['tonight', 'A', 'B', '2', 'x', 'y'])
    expect(await told('Q2X-7', 'duty-2 now')).toHaveLength(6)
    for (const from of ['Q2X', 'N0CALL'])
      expect((await told(from, 'watch'))[0]).toMatch(/not known/)
  })

  it.each([
    [{ hours: 0 }, /hours: got 0, expected a number from 1 to Infinity/],
    [{ hours: 'two' }, /hours: got "two", expected a number/],
    [{ hour: 2 }, /hour: got 2, expected one of hours, mayAsk/],
    [{ constructor: 2 }, /constructor: got 2, expected one of hours, mayAsk/],
    [{ mayAsk: 7 }, /mayAsk: got 7, expected a list of call signs/],
  ])('with settings %j are not offered, and the reason is told', async (table, reason) => {
    write(
      'duty',
      `settings: { hours: { type: 'number', min: 1, default: 2 } }, answer: () => 'yes'`,
    )
    await open({ settings: { duty: table } })
    expect(services).toEqual([])
    expect(faults()).toEqual([
      { kind: 'fault', file: 'duty.mjs', reason: expect.stringMatching(reason) },
    ])
  })

  it('that are called otherwise than .mjs are named once, and not taken up', async () => {
    writeFileSync(join(folder, 'tide.js'), 'export default {}')
    await open()
    await lookTwice()
    expect(faults().map((event) => event.kind === 'fault' && event.reason)).toEqual([
      'tide.js is not taken up: the name of a service ends in .mjs',
    ])
  })

  it('may not take a keyword of the node or of one another', async () => {
    write('a', "answer: () => 'a'", 'same')
    write('b', "answer: () => 'b'", 'same')
    write('c', "answer: () => 'c'", 'sun')
    await open()
    expect(keywords()).toEqual(['same'])
    expect(await answerOf(service('same'), '')).toEqual(['a'])
    expect(faults().map((event) => event.kind === 'fault' && event.reason)).toEqual([
      'its keyword "same" is taken by a.mjs',
      'its keyword "sun" is taken by the node itself',
    ])
  })

  it('that throw are answered politely; the log gets the place', async () => {
    write('throws', "answer() {\n  throw new Error('no such table')\n}")
    await open()
    const asked = { id: 'q', from: 'N0CALL-7', text: 'throws' }
    expect(await dispatch(asked, { services }, testContext())).toEqual({
      keyword: 'throws',
      messages: ['Sorry, throws does not work here just now.'],
      fault: 'no such table (throws.mjs:2:9)',
    })
  })

  it.each([
    ['a number', 'answer: () => 7', /it answered with number/],
    ['nothing', 'answer: () => undefined', /it answered with undefined/],
    ['a list of other things', 'answer: () => [1]', /expected a text or a list/],
    ['a book', "answer: () => 'x'.repeat(1e6)", /expected a text/],
  ])('that answer with %s have failed', async (_, body, reason) => {
    write('odd', body)
    await open()
    await expect(answerOf(service('odd'), '')).rejects.toThrow(reason)
  })

  it('that hang are stopped at the limit and started anew at the next question', async () => {
    write('loops', "answer(question) {\n  while (question.rest === 'hang') {}\n  return 'fine'\n}")
    await open()
    const hanging = answerOf(service('loops'), 'hang')
    const refused = expect(hanging).rejects.toThrow('the answer took longer than 2 s')
    // The question must be on its way before the time runs out.
    await vi.waitFor(() => expect(clock.nextAtMs()).toBeDefined())
    await new Promise((resolve) => setImmediate(resolve))
    clock.advanceBy(2000)
    await refused
    expect(await answerOf(service('loops'), 'again')).toEqual(['fine'])
  })

  it('that eat all memory, or end themselves, take nobody along', async () => {
    write(
      'greedy',
      `answer(question) {
        if (question.rest === 'exit') process.exit(1)
        const all = []
        for (;;) all.push(new Array(100_000).fill({ a: 1 }))
      }`,
    )
    write('good', "answer: () => 'yes'")
    await open({ clock: systemClock(), timeLimitMs: 30_000 })
    await expect(answerOf(service('greedy'), 'exit')).rejects.toThrow('it ended')
    await expect(answerOf(service('greedy'), '')).rejects.toThrow(/memory/)
    expect(await answerOf(service('good'), '')).toEqual(['yes'])
  })

  it('print into the log', async () => {
    write('talks', "answer: () => { console.log('one\\ntwo'); return 'done' }")
    await open()
    await answerOf(service('talks'), '')
    await vi.waitFor(() =>
      expect(events.filter((event) => event.kind === 'output')).toEqual([
        { kind: 'output', file: 'talks.mjs', line: 'one' },
        { kind: 'output', file: 'talks.mjs', line: 'two' },
      ]),
    )
  })

  it('that print without end do not fill the log', async () => {
    write(
      'talks',
      "answer: () => { for (let i = 0; i < 500; i++) console.log('line', i); return 'x' }",
    )
    await open()
    const lines = () => events.flatMap((event) => (event.kind === 'output' ? [event.line] : []))
    await answerOf(service('talks'), '')
    await vi.waitFor(() => expect(lines()).toHaveLength(60))
    clock.advanceBy(60_000)
    await answerOf(service('talks'), '')
    await vi.waitFor(() => expect(lines()).toHaveLength(121))
    expect(lines()[60]).toBe('(440 more lines left out)')
  })

  it('are taken up, changed and dropped as the folder changes', async () => {
    write('first', "answer: () => 'one'")
    await open()
    write('second', "answer: () => 'two'")
    await lookTwice()
    expect(keywords()).toEqual(['first', 'second'])
    write('first', "answer: () => 'one, changed'")
    await lookTwice()
    expect(await answerOf(service('first'), '')).toEqual(['one, changed'])
    rmSync(join(folder, 'second.mjs'))
    await own!.look()
    expect(keywords()).toEqual(['first'])
    expect(events.map((event) => event.kind)).toEqual(['ready', 'ready', 'ready', 'removed'])
  })

  it('stay as they were when their change is wrong, or the folder cannot be read', async () => {
    write('first', "answer: () => 'one'")
    await open()
    writeFileSync(join(folder, 'first.mjs'), 'export default {')
    await lookTwice()
    expect(await answerOf(service('first'), '')).toEqual(['one'])
    expect(faults()).toHaveLength(1)
    await lookTwice()
    expect(faults()).toHaveLength(1)
    rmSync(folder, { recursive: true })
    await lookTwice()
    expect(keywords()).toEqual(['first'])
    folder = mkdtempSync(join(tmpdir(), 'own-'))
  })
})
