import { describe, expect, it } from 'vitest'
import type { Service } from '../../src/services/service.js'
import { tellService } from '../../src/services/tell.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { inEnglish } from '../../src/words/air/all.js'
import { openTestStore } from '../store/openTestStore.js'
import { echoService, type TestNode, testNode } from './testNode.js'

/** Texts of what waits, but for acknowledgements. */
const waitingIn = ({ node }: TestNode): string[] =>
  node
    .state()
    .waiting.filter(({ priority }) => priority !== 'acknowledgement')
    .map(({ text }) => text)

/** Ends what waits, but for acknowledgements, for good. */
function dropWaiting({ node }: TestNode): void {
  for (const { id, priority } of node.state().waiting)
    if (priority !== 'acknowledgement') node.drop(id, 'dropped by a test')
}

/** From now on the radio sends, and what it was given is sent. */
function release({ port, clock }: TestNode): void {
  port.mode = 'send'
  for (const { id } of port.swallowed.splice(0))
    port.tell({ id, kind: 'sent', atMs: clock.monotonicMs(), airtimeMs: 400 })
}

describe('an answer of which nothing could be sent', () => {
  const asked = async (text: string) => {
    const node = testNode()
    node.port.mode = 'swallow'
    node.ask('Q1ABC', text)
    await node.wait(1)
    expect(waitingIn(node)).toEqual([expect.stringContaining('hi')])
    dropWaiting(node)
    return node
  }

  it('is told to who was acknowledged, once: where that is lost, too, nothing follows', async () => {
    const node = await asked('echo hi{1')
    expect(waitingIn(node)).toEqual([expect.stringContaining(inEnglish.say('noTime'))])
    dropWaiting(node)
    expect(waitingIn(node)).toEqual([])
  })

  it('is told to nobody who was not acknowledged', async () => {
    expect(waitingIn(await asked('echo hi'))).toEqual([])
  })

  it('and was one to a call for help, is given when that station calls again', async () => {
    const node = testNode()
    node.port.mode = 'swallow'
    node.ask('Q1ABC', 'sos leg broken{1')
    await node.wait(1)
    dropWaiting(node)
    release(node)
    node.sentTexts()
    node.ask('Q1ABC', 'sos at the mill{2')
    await node.wait(5)
    expect(node.sentTexts().join()).toContain(defaultNodeOptions({}).emergency.reply)
  })
})

describe('what converses', () => {
  it('goes on with a question that a former run took', async () => {
    const { store, clock } = openTestStore()
    const former = testNode({ store, clock })
    former.ask('Q1ABC', 'echo hi{1')
    former.node.stop()
    expect(former.sentTexts()).toEqual([])
    const node = testNode({ store, clock, seed: 2 })
    await node.wait(5)
    expect(node.sentTexts()).toEqual([expect.stringMatching(/^:Q1ABC {4}:hi\{/)])
  })

  it('ends nothing once it is stopped', async () => {
    const { node, store, clock, wait, sentTexts } = testNode()
    node.say({ to: 'Q1ABC', text: 'come home' })
    await wait(2)
    expect(sentTexts()).toHaveLength(1)
    const before = store.messages.find(1)
    node.stop()
    clock.advanceBy(48 * 3_600_000)
    expect(store.messages.find(1)).toEqual(before)
  })

  it('counts the questions that are being answered', async () => {
    let answer = (_: string): void => {}
    const slow: Service = {
      ...{ ...echoService, keyword: 'slow', usage: 'slow' },
      answer: () =>
        new Promise((resolve) => {
          answer = resolve
        }),
    }
    const { node, ask, wait } = testNode({ services: [slow] })
    ask('Q1ABC', 'slow')
    await wait(1)
    expect(node.state().openQuestionCount).toBe(1)
    answer('done')
    await wait(1)
    expect(node.state().openQuestionCount).toBe(0)
  })

  it('takes no question that cannot be answered in the time that is configured now', async () => {
    const { node, ask, wait, sentTexts } = testNode()
    ask('Q1ABC', 'echo hi{1')
    await wait(5)
    expect(sentTexts()).toHaveLength(2)
    const options = defaultNodeOptions({ call: 'N0DE-10' })
    node.setOptions({ ...options, answers: { ...options.answers, notAfterMs: 1 } })
    ask('Q2DEF', 'echo hi{1')
    await wait(5)
    expect(sentTexts().filter((text) => text.startsWith(':Q2DEF'))).toEqual([])
  })

  it('tells services and who waits for a station that it is heard', async () => {
    const heard: string[] = []
    const gate: Service = {
      ...{ ...echoService, keyword: 'gate', usage: 'gate' },
      acts: {
        ...{ everyMs: undefined, onHeard: true },
        async act(occasion) {
          if (occasion.kind === 'heard') heard.push(occasion.station.call)
        },
      },
    }
    const { ask, hear, wait, sentTexts } = testNode({ services: [tellService, gate] })
    ask('Q1ABC', 'tell Q2DEF')
    await wait(30)
    sentTexts()
    hear('Q2DEF>APZ001:>here')
    await wait(5)
    expect(heard).toContain('Q2DEF')
    expect(sentTexts()).toContainEqual(expect.stringMatching(/^:Q1ABC {4}:Q2DEF is heard now\./))
  })

  it('tells the sender of mail that was not collected in time', async () => {
    const { store, clock, wait, sentTexts } = testNode()
    const life = { leftWallMs: clock.wallMs(), expiresWallMs: clock.wallMs() + 1_000 }
    const left = { questionId: 'q1', from: 'Q7LAP', to: 'Q1ABC', text: 'rope', ...life }
    store.durably('a message', () => store.mailbox.insert({ ...left, expiryTrusted: true }))
    await wait(70)
    expect(sentTexts()).toContainEqual(
      expect.stringMatching(/^:Q7LAP {4}:Your message to Q1ABC was not collected in time: rope\{/),
    )
  })
})
