import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parse } from 'csv-parse/sync'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { askCommand } from '../../src/cli/ask/ask.js'
import { logCommand } from '../../src/cli/log/log.js'
import { loadConfig } from '../../src/config/load.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import { eventOptions } from '../../src/setup/eventOptions.js'
import { type OpenEvent, openEvent } from '../../src/setup/openEvent.js'
import { openStore, type Store } from '../../src/store/store.js'
import { runCommand } from './commandBench.js'

const start = Date.UTC(2026, 5, 21, 9, 30)
const toml = `[station]
call = "N0CALL-10"
utcOffsetMinutes = -120
[event]
name = "Ridge walk"
from = "2026-06-21 07:30"
to = "2026-06-21 19:00"
exercise = true
names = "names.csv"
announcements = ["Path closed at the gate"]
[store]
file = "node.db"
`

let folder: string
let clock: VirtualClock
let store: Store
const at = (name: string): string => join(folder, name)
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'event-'))
  writeFileSync(at('node.toml'), toml)
  writeFileSync(at('names.csv'), 'name,call,list\nNET,Q1NET-1,\nCHECK1,Q1ABC-7,MARSHALS\n')
  clock = virtualClock(start)
  store = openStore({ file: at('node.db'), clock })
})
afterEach(() => {
  store.close()
  rmSync(folder, { recursive: true })
})

const octetsOf = (line: string): Uint8Array => {
  const parsed = parseLine(line)
  if (!parsed.ok) throw new Error(parsed.reason)
  return encodeFrame(parsed.frame)
}
const heard = (atS: number, line: string, repairedBits = 0): void =>
  store.frames.add({
    ...{ heardAtWallMs: start + atS * 1000, radio: 0, source: 'x', octets: octetsOf(line) },
    ...{ repairedBits, detector: 'sequence' },
  })
const sent = (atS: number, line: string, outcome: 'sent' | 'expired' = 'sent'): void =>
  store.transmissions.add({
    ...{ atWallMs: start + atS * 1000, radio: 0, priority: 'answer', octets: octetsOf(line) },
    ...{ outcome, airtimeMs: 700, reference: undefined, reason: undefined },
  })
const event = async (onNames = () => {}): Promise<OpenEvent> => {
  const options = eventOptions(await loadConfig(at('node.toml')), folder)!
  const onNote = (text: string): void => void notes.push(text)
  const one = openEvent({ options, clock, store, onNames, onNote, onFault: onNote })
  await one.ready
  return one
}
let notes: string[]
beforeEach(() => {
  notes = []
})
const log = async (...words: string[]) =>
  (await runCommand(logCommand, ['--config', at('node.toml'), '--event', ...words], { clock }))
    .stdout

describe('the communications log', () => {
  beforeEach(async () => {
    const one = await event()
    one.names.give('CHECK1', 'Q1DEF-7', 'test')
    one.close()
    heard(10, 'Q1NET-1>APZ001::N0CALL-10:leave CHECK1 <b>"come", =1+1{1')
    heard(14, 'Q1NET-1>APZ001::N0CALL-10:leave CHECK1 <b>"come", =1+1{1')
    sent(15, 'N0CALL-10>APZRPT::Q1NET-1  :ack1')
    sent(16, 'N0CALL-10>APZRPT::Q1DEF-7  :Q1NET-1: EXERCISE come{7')
    sent(17, 'N0CALL-10>APZRPT::Q1DEF-7  :this never went out{8', 'expired')
    heard(20, 'Q1DEF-7>APZ001::N0CALL-10:ack7')
    heard(30, 'Q1ABC-7>APZ001::Q1XYZ    :no answer{2')
    heard(40, 'Q1ABC-7>APZ001::Q1XYZ    :too damaged to act on{3', 2)
    heard(50, 'Q1ABC-7>APZ001:>status')
    sent(60, 'N0CALL-10>APZRPT::BLNA     :EXERCISE Path closed at the gate')
    heard(-3 * 3_600, 'Q1ABC-7>APZ001::Q1XYZ    :before the event{4')
    store.flush()
  })

  it('as a table for another program: each message once, when it was confirmed, in local time', async () => {
    const [header, ...rows] = parse(await log('--format', 'csv')) as string[][]
    expect(header!.join()).toBe('time,from,from_name,to,to_name,text,confirmed,event')
    const eventName = 'EXERCISE: Ridge walk'
    expect(rows).toEqual([
      [
        ...[
          '2026-06-21 07:30:10',
          'Q1NET-1',
          'NET',
          'N0CALL-10',
          '',
          'leave CHECK1 <b>"come", =1+1',
        ],
        ...['07:30:15', eventName],
      ],
      [
        ...['2026-06-21 07:30:16', 'N0CALL-10', '', 'Q1DEF-7', 'CHECK1', 'Q1NET-1: EXERCISE come'],
        ...['07:30:20', eventName],
      ],
      ['2026-06-21 07:30:30', 'Q1ABC-7', '', 'Q1XYZ', '', 'no answer', 'no', eventName],
      [
        ...['2026-06-21 07:31:00', 'N0CALL-10', '', 'BLNA', '', 'EXERCISE Path closed at the gate'],
        ...['', eventName],
      ],
    ])
  })

  it('as a page to print, in which nothing that was sent is markup', async () => {
    const page = await log('--format', 'page')
    expect(page).toContain('<h1>EXERCISE: Ridge walk, communications log of N0CALL-10</h1>')
    expect(page).toContain('CHECK1 (Q1DEF-7)')
    expect(page).toContain('&#60;b&#62;')
    expect(page).not.toContain('<b>')
    expect(page).toContain('4 messages, 2 of 3 confirmed where that was asked for')
  })

  it('as text, of a part of the time', async () => {
    expect(await log('--since', '2026-06-21T09:30:25')).toBe(
      'EXERCISE: Ridge walk, communications log of N0CALL-10\n' +
        '2026-06-21 07:30:30 Q1ABC-7 > Q1XYZ: no answer [no]\n' +
        '2026-06-21 07:31:00 N0CALL-10 > BLNA: EXERCISE Path closed at the gate\n' +
        '2 messages, 0 of 1 confirmed where that was asked for\n',
    )
  })

  it('needs a configuration with an event, and a page is of an event', async () => {
    const run = (...words: string[]) => runCommand(logCommand, words, { clock })
    expect((await run('--database', at('node.db'), '--event')).exitCode).not.toBe(0)
    expect((await run('--config', at('node.toml'), '--format', 'page')).exitCode).not.toBe(0)
    writeFileSync(at('node.toml'), '[store]\nfile = "node.db"\n')
    expect((await run('--config', at('node.toml'), '--event')).exitCode).not.toBe(0)
  })
})

describe('an event that is open', () => {
  it('begins and ends by the clock, also over a restart, and tells it', async () => {
    clock = virtualClock(start - 60_000)
    const one = await event()
    expect([one.status(), one.announcements()]).toEqual([undefined, []])
    expect(one.names.nameOf('NET')).toBeUndefined()
    clock.advanceTo(clock.monotonicMs() + 70_000)
    expect(one.names.nameOf('NET')).toBe('NET')
    expect(one.announcements()).toEqual(['EXERCISE Path closed at the gate'])
    one.close()
    const again = await event()
    expect(again.names.nameOf('NET')).toBe('NET')
    clock.advanceTo(clock.monotonicMs() + 12 * 3_600_000)
    expect(again.announcements()).toEqual([])
    again.close()
    expect(notes).toEqual([
      'exercise "Ridge walk" is on',
      'exercise "Ridge walk" is on',
      'exercise "Ridge walk" is over',
    ])
  })

  it('a name that was given holds after a restart; one that another event gave does not', async () => {
    let told = 0
    const one = await event(() => told++)
    expect(told, 'the file names some').toBe(1)
    one.names.give('CHECK1', 'Q9NEW-1', 'test')
    expect(told).toBe(2)
    one.close()
    const again = await event()
    expect(again.names.holder('CHECK1')).toBe('Q9NEW-1')
    again.close()
    writeFileSync(at('node.toml'), toml.replace('Ridge walk', 'Next walk'))
    const next = await event()
    expect(next.names.holder('CHECK1')).toBe('Q1ABC-7')
    next.close()
  })
})

it('ask knows the names and the services of the event, and gives nothing away', async () => {
  store.flush()
  const ask = async (text: string) =>
    (
      await runCommand(askCommand, [text, '--config', at('node.toml'), '--from', 'Q1NET-1'], {
        clock,
      })
    ).stdout
  expect(await ask('leave CHECK1 hello')).toContain('Kept for CHECK1 (Q1ABC-7).')
  expect(await ask('roll')).toContain('EXERCISE 1 of 2 heard')
  expect(await ask('confirmed')).toContain('You left no text for several')
  expect(store.mailbox.openCount).toBe(0)
})
