import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { readControlFile, writeControlFile } from '../../src/control/controlFile.js'
import { counterCode } from '../../src/control/oneTimeCode.js'
import { confirmMs } from '../../src/control/stationHold.js'
import { heldReason } from '../../src/radio/port.js'
import { clockTrust } from '../../src/runtime/clockTrust.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { dispatch } from '../../src/services/dispatch.js'
import type { NameGiven } from '../../src/services/event/tacticalNames.js'
import { helpService } from '../../src/services/help.js'
import type { ServiceContext } from '../../src/services/service.js'
import { openControl } from '../../src/setup/openControl.js'

const secret = Uint8Array.from({ length: 20 }, (_, index) => index)
const code = (counter: number): string => counterCode(secret, counter, 8)

let folder: string
let file: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-control-'))
  file = join(folder, 'control.json')
  writeControlFile(file, {
    secrets: [{ call: 'Q1OPS', goesBy: 'counter', secret, counter: 0 }],
    hold: undefined,
  })
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

/** A station with two radios; a second one on the same file is the first after a restart. */
function station(names?: { give: (...words: string[]) => NameGiven }) {
  const clock = virtualClock()
  const holds = [new Map<string, string>(), new Map<string, string>()]
  const commands: string[] = []
  const ports = holds.map((held) => ({
    hold: (source: string, reason: string) => void held.set(source, reason),
    release: (source: string) => void held.delete(source),
    state: () => ({
      receiving: true,
      channelBusy: false,
      keyed: false,
      queuedCount: 2,
      dutyUsed: 0.25,
      holds: [...held].map(([source, reason]) => ({ source, reason, sinceMs: 0 })),
      transmitBlockedBy: [...held].map(([source, reason]) => heldReason({ source, reason }))[0],
    }),
  }))
  const control = openControl({
    file,
    window: 20,
    clock,
    clockTrust: clockTrust(clock),
    ports: ports as never,
    names,
    onCommand: (text) => commands.push(text),
    onFault: (text) => commands.push(`fault ${text}`),
  })
  const services = [...control.services, helpService()]
  const ask = async (text: string, from = 'Q1OPS-7', rehearsal = false): Promise<string> => {
    const context = { services, rehearsal } as unknown as ServiceContext
    const { messages } = await dispatch({ id: 'q', from, text }, { services }, context)
    for (const message of messages) expect(message.length).toBeLessThanOrEqual(67)
    return messages.join(' ')
  }
  const held = (): boolean[] => holds.map((one) => one.has('control operator'))
  const advance = (ms: number): void => clock.advanceTo(clock.monotonicMs() + ms)
  return { ask, held, advance, commands, close: () => control.close() }
}

describe('control by radio', () => {
  it('holds every radio after the answer had time to go out, and releases', async () => {
    const { ask, held, advance, commands } = station()
    expect(await ask(`hold ${code(0)}`)).toMatch(/^Holding until released/)
    advance(confirmMs - 1)
    expect(held()).toEqual([false, false])
    advance(1)
    expect(held()).toEqual([true, true])
    expect(await ask(`state ${code(1)}`)).toContain('held')
    expect(await ask(`release ${code(2)}`)).toBe('Released.')
    expect(held()).toEqual([false, false])
    expect(commands).toHaveLength(3)
  })

  it('a release within the wait keeps the hold from coming', async () => {
    const { ask, held, advance } = station()
    await ask(`hold ${code(0)}`)
    await ask(`release ${code(1)}`)
    advance(60_000)
    expect(held()).toEqual([false, false])
    expect(readControlFile(file).hold).toBeUndefined()
  })

  it('a hold with a time ends by itself, one without lasts over restarts', async () => {
    const first = station()
    await first.ask(`hold 30m ${code(0)}`)
    first.advance(confirmMs + 30 * 60_000 - 1)
    expect(first.held()).toEqual([true, true])
    first.advance(1)
    expect(first.held()).toEqual([false, false])
    await first.ask(`hold ${code(1)}`)
    first.close()
    const second = station()
    expect(second.held()).toEqual([true, true])
    second.advance(7 * 86_400_000)
    expect(second.held()).toEqual([true, true])
    await second.ask(`release ${code(2)}`)
    expect(station().held()).toEqual([false, false])
  })

  it('a hold with a time begins anew after a restart', async () => {
    const first = station()
    await first.ask(`hold 30m ${code(0)}`)
    first.advance(20 * 60_000)
    first.close()
    const second = station()
    second.advance(30 * 60_000 - 1)
    expect(second.held()).toEqual([true, true])
    second.advance(1)
    expect(second.held()).toEqual([false, false])
  })

  it('a code is good once, also after a restart; the same message again does nothing', async () => {
    const { ask } = station()
    await ask(`hold ${code(0)}`)
    expect(await ask(`release ${code(0)}`)).toMatch(/^Not done: the code is wrong/)
    expect(await station().ask(`release ${code(0)}`)).toMatch(/^Not done/)
  })

  it('is not there for anybody else, not even in help', async () => {
    const { ask, commands } = station()
    expect(await ask(`hold ${code(0)}`, 'Q1NOT-7')).toMatch(/^"hold" is not known here/)
    expect(await ask('help', 'Q1NOT-7')).not.toContain('hold')
    expect(await ask('help')).toContain('hold')
    expect(commands).toEqual([])
  })

  it('says how a command is sent', async () => {
    const { ask, held, advance } = station()
    expect(await ask('hold')).toContain('hold CODE')
    expect(await ask(`hold tomorrow ${code(0)}`)).toBe('Send hold [30m] CODE')
    advance(60_000)
    expect(held()).toEqual([false, false])
  })

  it('tries nothing in a rehearsal', async () => {
    await station().ask(`hold ${code(0)}`, 'Q1OPS-7', true)
    expect(readControlFile(file).secrets[0]!.counter).toBe(0)
  })

  it('keeps its file to its owner', async () => {
    await station().ask(`state ${code(3)}`)
    expect(statSync(file).mode & 0o777).toBe(0o600)
    expect(JSON.parse(readFileSync(file, 'utf8')).secrets[0].counter).toBe(4)
  })

  it('does not start on a file that is damaged', () => {
    writeFileSync(file, '{"secrets": [{}]}')
    expect(() => station()).toThrow(/enrol the control operators anew/)
  })

  it('refuses codes when the file is damaged meanwhile, and says so', async () => {
    const { ask, commands } = station()
    writeFileSync(file, 'x')
    expect(await ask(`hold ${code(0)}`)).toMatch(/^"hold" is not known here/)
    expect(commands[0]).toMatch(/^fault .*not JSON/)
  })
})

describe('a tactical name by radio', () => {
  it('is given with a code, once, by who is enrolled; without an event there is no such command', async () => {
    const given: string[][] = []
    const give = (...words: string[]): NameGiven => {
      given.push(words)
      return words[0] === 'Q1ABC'
        ? { ok: false, why: 'Bad', reason: 'it cannot be a tactical name' }
        : { ok: true, name: 'CHECK3', call: 'Q1XYZ-9' }
    }
    const { ask, commands } = station({ give })
    expect(await ask('tactical check3 Q1XYZ-9')).toBe(
      'Send tactical NAME CALL CODE, with the next code of your list.',
    )
    expect(await ask(`tactical check3 Q1XYZ-9 ${code(0)}`)).toBe('CHECK3 is Q1XYZ-9 now.')
    expect(await ask(`tactical check3 Q1XYZ-9 ${code(0)}`)).toMatch(/^Not done: the code is wrong/)
    expect(await ask(`tactical Q1ABC Q1XYZ-9 ${code(1)}`)).toBe(
      'Not done: "Q1ABC" cannot be a name.',
    )
    expect(await ask(`tactical check3 ${code(2)}`)).toBe('Send tactical NAME CALL CODE')
    expect(await ask(`tactical check3 Q1XYZ-9 ${code(2)}`, 'Q9BAD')).not.toMatch(/CHECK3 is/)
    expect(given).toEqual([
      ['check3', 'Q1XYZ-9', 'Q1OPS-7 by radio'],
      ['Q1ABC', 'Q1XYZ-9', 'Q1OPS-7 by radio'],
    ])
    expect(commands[0]).toBe('tactical from Q1OPS-7: done')
    expect(await station().ask(`tactical check3 Q1XYZ-9 ${code(2)}`)).not.toMatch(/CHECK3 is/)
  })
})
