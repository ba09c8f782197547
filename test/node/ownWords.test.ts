import { describe, expect, it } from 'vitest'
import { ownWords } from '../../src/node/ownWords.js'
import type { Outgoing, Transmitter } from '../../src/node/transmitter.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { testNode } from './testNode.js'

const example = 'echo hello there'

/** The operator sends an example, which its receiver acknowledges. */
async function told() {
  const node = testNode()
  node.node.say({ to: 'N0CALL-7', text: example })
  await node.wait(5)
  const number = /\{(\w+)/.exec(node.sentTexts().join('\n'))?.[1]
  node.ask('N0CALL-7', `ack${number}`)
  await node.wait(60)
  node.sentTexts()
  return node
}

it('who sends an example of the operator back is answered, and acknowledged again', async () => {
  const node = await told()
  node.ask('N0CALL-7', `${example}{1`)
  await node.wait(5)
  const texts = node.sentTexts()
  expect(texts).toContain(':N0CALL-7 :ack1')
  expect(texts).toContainEqual(expect.stringMatching(/^:N0CALL-7 :hello there\{/))
  await node.wait(40)
  node.sentTexts()
  node.ask('N0CALL-7', `${example}{1`)
  await node.wait(5)
  expect(node.sentTexts()).toContain(':N0CALL-7 :ack1')
})

it('the same again as another question within the hour is an echo', async () => {
  const node = await told()
  node.ask('N0CALL-7', `${example}{1`)
  await node.wait(60)
  node.sentTexts()
  node.ask('N0CALL-7', `${example}{2`)
  await node.wait(60)
  expect(node.sentTexts()).not.toContain(':N0CALL-7 :ack2')
})

it('what only quotes it is an echo the first time', async () => {
  const node = await told()
  node.ask('N0CALL-7', `You said: ${example}{1`)
  await node.wait(60)
  expect(node.sentTexts()).toEqual([])
})

describe('what we said', () => {
  function bench() {
    const clock = virtualClock()
    const said = ownWords(clock)
    const sent: Outgoing[] = []
    const takeBack = () => {}
    const tapped = said.tap({
      send(outgoing: Outgoing) {
        sent.push(outgoing)
        return takeBack
      },
      blockedBy: () => 'held',
    } as unknown as Transmitter)
    const say = (station: string | undefined, text: string, priority = 'answer') =>
      tapped.send({ station, text, priority } as Outgoing)
    return { clock, said, tapped, sent, say, takeBack }
  }

  it('is sent as it was, and noted', () => {
    const { tapped, sent, say, takeBack, said } = bench()
    expect(say('Q1', 'Hello There')).toBe(takeBack)
    expect(sent).toEqual([{ station: 'Q1', text: 'Hello There', priority: 'answer' }])
    expect(tapped.blockedBy(0)).toBe('held')
    expect(said.isEcho('Q1', ' hello there ')).toBe(true)
    expect(said.isEcho('Q1', 'You said: HELLO THERE!')).toBe(true)
    expect(said.isEcho('Q1', 'hello')).toBe(false)
    expect(said.isEcho('Q2', 'hello there')).toBe(false)
  })

  it('is no acknowledgement, nothing to nobody, and nothing short', () => {
    const { say, said } = bench()
    say('Q1', 'acknowledgement of 12', 'acknowledgement')
    say(undefined, 'beacon: status')
    say('Q1', '1234567')
    say('Q1', ' 12345678 ')
    expect(said.isEcho('Q1', 'acknowledgement of 12')).toBe(false)
    expect(said.isEcho('Q1', 'x 1234567 x')).toBe(false)
    expect(said.isEcho('Q1', 'x 12345678 x')).toBe(true)
    expect(said.isEcho('undefined', 'beacon: status')).toBe(false)
  })

  it('is remembered for an hour from when it was said last', () => {
    const { clock, say, said } = bench()
    say('Q1', 'hello there')
    clock.advanceTo(1_000)
    say('Q1', 'hello there')
    clock.advanceTo(3_601_000)
    expect(said.isEcho('Q1', 'hello there')).toBe(true)
    clock.advanceTo(3_601_001)
    expect(said.isEcho('Q1', 'hello there')).toBe(false)
  })

  it('is twelve texts of a station, of a thousand stations', () => {
    const { say, said } = bench()
    const text = (at: number): string => `text number ${at}.`
    for (let at = 0; at < 12; at++) say('Q1', text(at))
    // the same again is no other one
    for (let time = 0; time < 12; time++) say('Q1', text(0))
    expect([0, 1, 11].map((at) => said.isEcho('Q1', text(at)))).toEqual([true, true, true])
    say('Q1', text(12))
    expect([0, 1, 2].map((at) => said.isEcho('Q1', text(at)))).toEqual([true, false, true])
    for (let at = 2; at <= 1_000; at++) say(`Q${at}`, text(at))
    expect(said.isEcho('Q1', text(12))).toBe(true)
    say('Q1001', text(1))
    expect([said.isEcho('Q1', text(12)), said.isEcho('Q2', text(2))]).toEqual([false, true])
  })

  it('is excused once in an hour, of each station and text', () => {
    const { clock, said } = bench()
    expect([said.excuse('Q1', 'Sun'), said.excuse('Q1', ' sun'), said.excuse('Q2', 'sun')]).toEqual(
      [...[true, false, true]],
    )
    expect(said.excuse('Q1', 'moon')).toBe(true)
    clock.advanceTo(3_600_000)
    expect(said.excuse('Q1', 'sun')).toBe(true)
  })
})
