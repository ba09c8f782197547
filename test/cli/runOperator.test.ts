import { PassThrough } from 'node:stream'
import { describe, expect, it } from 'vitest'
import type { RunLog } from '../../src/cli/run/runLog.js'
import type { RunningNode } from '../../src/cli/run/runNode.js'
import { stopAsked } from '../../src/cli/run/runOperator.js'
import type { Edges } from '../../src/devices/edges.js'
import type { RadioPort } from '../../src/radio/radioPort.js'

/** What 'state' prints when a radio, the node and the program itself have caught so many faults. */
async function stateWith(radio: number, node: number, program: number): Promise<string> {
  const stdin = Object.assign(new PassThrough(), { isTTY: true })
  const notes: string[] = []
  const state = {
    ...{ receiving: true, channelBusy: false, keyed: false, queuedCount: 2, dutyUsed: 0.1 },
    faultCount: radio,
  }
  const counts = {
    ...{ framesHeardCount: 7, openQuestionCount: 1, openMessageCount: 0, mailboxCount: 3 },
    notOffered: [{ keyword: 'power', reason: 'the meter has written nothing' }],
    digipeater: {
      repeatedCount: 1,
      reasons: [
        { what: 'not repeated', reason: 'too many wait', count: 4 },
        { what: 'not repeated', reason: 'no digipeater is asked', count: 2 },
      ],
    },
  }
  const stopped = stopAsked(
    { stdin, onStop: () => {} } as unknown as Edges,
    [{ name: 'hill', state: () => state } as unknown as RadioPort],
    { node: { state: () => ({ ...counts, faultCount: node }) } } as unknown as RunningNode,
    { note: (text: string) => notes.push(text) } as unknown as RunLog,
    { faultCount: program },
    () => ['tcp 127.0.0.1:50412'],
  )
  stdin.write('state\nstop\n')
  await stopped
  return notes.at(-1) ?? ''
}

describe('the operator at the terminal', () => {
  it('sees in the state what was caught anywhere', async () => {
    const state = await stateWith(0, 0, 0)
    expect(state).toContain('hill: receiving, channel free, 2 waiting, duty 10 % used')
    expect(state).toContain('7 frames heard, 1 question and 0 messages open, 3 in the mailbox')
    expect(state).toContain('power is not offered: the meter has written nothing')
    expect(state).toContain('KISS clients: tcp 127.0.0.1:50412')
    expect(state).toContain(
      '1 frame repeated; not repeated: 4 (too many wait), 2 (no digipeater is asked)',
    )
    expect(state).not.toContain('fault')
    expect(await stateWith(1, 2, 4)).toContain('7 faults of the program (see the log)')
  })
})
