import { writeFileSync } from 'node:fs'
import { dirname } from 'node:path'
import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { boardService, postService } from '../../src/services/board.js'
import { collectService, leaveService, replyService } from '../../src/services/mailbox.js'
import { openDatabase } from '../../src/store/database.js'
import { openStore } from '../../src/store/store.js'
import { temporaryFile } from '../store/openTestStore.js'
import { echoService, type TestNodeOptions, testNode } from './testNode.js'

const services = [
  ...[echoService, leaveService, collectService, replyService, boardService, postService],
]
const mailNode = (given: TestNodeOptions = {}) => testNode({ services, ...given })
type Node = ReturnType<typeof testNode>

/** Acknowledges what the node has sent to these stations, as their radios would, and returns the texts. */
async function converse(node: Node, calls: readonly string[], seconds = 60): Promise<string[]> {
  const texts: string[] = []
  for (let second = 0; second < seconds; second++) {
    await node.wait(1)
    for (const text of node.sentTexts()) {
      texts.push(text)
      const parts = /^:(.{9}):(.*)\{(\w+)$/.exec(text)
      const call = parts?.[1]?.trim()
      if (call !== undefined && calls.includes(call)) node.ask(call, `ack${parts![3]}`)
    }
  }
  return texts
}

const entries = (node: Node) => node.store.mailbox.recent(100)

describe('a message that is left', () => {
  it('is announced when its receiver is heard, collected, delivered once, and its sender is told', async () => {
    const node = mailNode()
    node.ask('N0CALL-7', 'leave N0CALL-8 meet at the hut{1')
    const asked = await converse(node, ['N0CALL-7'])
    expect(asked.join()).toContain('Kept 7 days for N0CALL-8')
    node.hear('N0CALL-8>APZ001:>on the way')
    const told = await converse(node, ['N0CALL-8'])
    expect(told).toEqual([':N0CALL-8 :1 message waits for you here. Send: collect{102'])
    node.ask('N0CALL-8', 'collect{1')
    const got = await converse(node, ['N0CALL-7', 'N0CALL-8'])
    expect(got).toEqual([
      ':N0CALL-8 :ack1',
      ':N0CALL-8 :1 message for you follows.{104',
      ':N0CALL-8 :N0CALL-7: meet at the hut{103',
      ':N0CALL-7 :Your message to N0CALL-8 was delivered: meet at the hut{105',
    ])
    expect(entries(node)).toMatchObject([{ state: 'delivered', collectedBy: 'N0CALL-8' }])
    node.ask('N0CALL-8', 'collect{2')
    expect((await converse(node, ['N0CALL-8'])).join()).toContain('Nothing is waiting')
    node.ask('N0CALL-8', 'reply I will be there{3')
    expect((await converse(node, ['N0CALL-8'])).join()).toContain('Kept 7 days for N0CALL-7')
    expect(entries(node).at(-1)).toMatchObject({
      ...{ from: 'N0CALL-8', to: 'N0CALL-7', text: 'I will be there', state: 'waiting' },
    })
    node.ask('N0CALL-7', 'reply to whom{4')
    expect((await converse(node, ['N0CALL-7'])).join()).toContain(
      'No message for you was collected',
    )
    node.ask('N0CALL-7', 'reply{5')
    expect((await converse(node, ['N0CALL-7'])).join()).toContain('Send e.g. reply')
  })

  it('goes out as soon as its receiver is heard, where that is configured', async () => {
    const node = mailNode({ options: { mailbox: { deliver: 'at-once' } } })
    node.ask('N0CALL-7', 'leave N0CALL-8 hello{1')
    await converse(node, ['N0CALL-7'])
    node.hear('N0CALL-8>APZ001:>on the way')
    const texts = await converse(node, ['N0CALL-7', 'N0CALL-8'])
    expect(texts[0]).toMatch(/^:N0CALL-8 :N0CALL-7: hello\{/)
    expect(texts[1]).toMatch(/delivered: hello/)
  })

  it('keeps its number when the receiver does not acknowledge, so that it is taken once', async () => {
    const node = mailNode()
    node.ask('N0CALL-7', 'leave N0CALL-8 hello{1')
    await converse(node, ['N0CALL-7'])
    const carried = async (number: number) => {
      node.ask('N0CALL-8', `collect{${number}`)
      const texts = await converse(node, ['N0CALL-7'], 600)
      return texts.filter((text) => text.includes('N0CALL-7: hello'))
    }
    const first = await carried(1)
    expect(first).toHaveLength(5)
    expect(entries(node)[0]?.state).toBe('waiting')
    const second = await carried(2)
    expect(new Set([...first, ...second]).size).toBe(1)
    // the acknowledgement of the first round arrives at last
    node.ask('N0CALL-8', `ack${/\{(\d+)$/.exec(first[0]!)?.[1]}`)
    expect((await converse(node, ['N0CALL-7'])).join()).toContain('was delivered')
    expect(entries(node)[0]?.state).toBe('delivered')
  })

  it('that was asked for and not acknowledged comes again when its receiver is heard again', async () => {
    const node = mailNode()
    for (const number of [1, 2, 3]) {
      node.ask('N0CALL-7', `leave N0CALL-8 text ${number}{${number}`)
      await converse(node, ['N0CALL-7'], 5)
    }
    node.ask('N0CALL-8', 'collect{1')
    const lost = await converse(node, [], 900)
    // the first in vain; the others were not even tried
    expect(new Set(lost.filter((text) => text.includes('N0CALL-7: text')))).toHaveProperty(
      'size',
      1,
    )
    expect(entries(node).map(({ state }) => state)).toEqual(['waiting', 'waiting', 'waiting'])
    await node.wait(900)
    node.hear('N0CALL-8>APZ001:>back again')
    const got = await converse(node, ['N0CALL-7', 'N0CALL-8'])
    for (const number of [1, 2, 3]) expect(got.join()).toContain(`N0CALL-7: text ${number}{`)
    expect(entries(node).map(({ state }) => state)).toEqual(['delivered', 'delivered', 'delivered'])
  })

  it('twice with the same words is kept once', async () => {
    const node = mailNode()
    for (const number of [1, 2]) {
      node.ask('N0CALL-7', `leave N0CALL-8 hello{${number}`)
      expect((await converse(node, ['N0CALL-7'], 5)).join()).toContain(
        'Kept 7 days for N0CALL-8. You',
      )
    }
    expect(entries(node)).toHaveLength(1)
  })

  it('for a call without SSID goes to whichever of its stations asks first', async () => {
    const node = mailNode()
    node.ask('N0CALL-7', 'leave N1CALL hello{1')
    await converse(node, ['N0CALL-7'])
    node.ask('N1CALL-5', 'collect{1')
    const texts = await converse(node, ['N1CALL-5'])
    expect(texts.join()).toContain(':N1CALL-5 :N0CALL-7: hello')
  })

  it('that is refused, or not collected in time, is reported to its sender', async () => {
    const node = mailNode({ options: { mailbox: { keepMs: 3_600_000 } } })
    node.ask('N0CALL-7', 'leave N0CALL-8 one{1')
    await converse(node, ['N0CALL-7'])
    node.ask('N0CALL-8', 'collect{1')
    await node.wait(2)
    const carrier = node.sentTexts().find((text) => text.includes('N0CALL-7: one'))
    node.ask('N0CALL-8', `rej${/\{(\d+)$/.exec(carrier!)?.[1]}`)
    expect((await converse(node, ['N0CALL-7'])).join()).toContain('was refused by its radio')
    node.ask('N0CALL-7', 'leave N0CALL-8 two{2')
    const texts = await converse(node, ['N0CALL-7'], 3_800)
    expect(texts.join()).toContain('to N0CALL-8 was not collected in time: two')
    expect(entries(node).map(({ state }) => state)).toEqual(['refused', 'expired'])
  })

  it('is refused with a reason: quota, no station, our own name, too long', async () => {
    const node = mailNode({ options: { mailbox: { perSender: 1 } } })
    const answerTo = async (text: string, number: number) => {
      node.ask('N0CALL-7', `${text}{${number}`)
      return (await converse(node, ['N0CALL-7'], 5)).join()
    }
    expect(await answerTo('leave N0DE-10 hello', 1)).toContain('no message can be left for N0DE-10')
    const long = 'x'.repeat(67 - 'l N1CALL '.length)
    node.ask('N0CALL-11', `l N1CALL ${long}{2`)
    expect((await converse(node, ['N0CALL-11'], 5)).join()).toContain(
      'Not kept: 2 characters too long. At most',
    )
    expect(await answerTo('leave N1CALL one', 3)).toContain('Kept 7 days for N1CALL')
    expect(await answerTo('leave N1CALL two', 4)).toContain('1 of yours wait already')
    expect(entries(node)).toHaveLength(1)
  })

  it('is not taken while the database cannot be used', async () => {
    const file = `${temporaryFile()}/node.db`
    writeFileSync(dirname(file), 'a file')
    const clock = virtualClock()
    const store = openStore({ file, clock, whenUnusable: 'memory' })
    const node = mailNode({ store, clock })
    node.ask('N0CALL-7', 'leave N0CALL-8 one{1')
    expect((await converse(node, ['N0CALL-7'], 5)).join()).toContain(
      'Not kept: the mailbox is out of order. Tell the operator.',
    )
    node.ask('N0CALL-7', 'post The path is open{3')
    expect((await converse(node, ['N0CALL-7'], 5)).join()).toContain(
      'Not posted: the board is out of order. Tell the operator.',
    )
    node.ask('N0CALL-7', 'echo hi{2')
    expect((await converse(node, ['N0CALL-7'], 5)).join()).toContain('hi')
  })

  it('says that it is out of order, and tells the operator, when one of its tables fails', async () => {
    const clock = virtualClock()
    const file = temporaryFile()
    const store = openStore({ file, clock })
    const database = openDatabase({ file, onFault: () => {}, wallMs: clock.wallMs })
    const node = mailNode({ store, clock })
    const answer = async (text: string, number: number): Promise<string> => {
      node.ask('N0CALL-7', `${text}{${number}`)
      return (await converse(node, ['N0CALL-7'], 5)).join()
    }
    expect(await answer('leave N0CALL-8 one', 1)).toContain('Kept 7 days for N0CALL-8')
    database.run('DROP TABLE mailbox')
    database.run('DROP TABLE notices')
    database.close()
    expect(await answer('leave N0CALL-8 two', 2)).toContain('the mailbox is out of order.')
    expect(await answer('collect', 3)).toContain('The mailbox is out of order.')
    expect(await answer('post hello', 4)).toContain('the board is out of order.')
    expect(node.events.filter(({ kind }) => kind === 'fault')).toMatchObject([
      { text: 'the mailbox', station: 'N0CALL-7', reference: 'Q2' },
      { text: 'the mailbox', station: 'N0CALL-7', reference: 'Q3' },
      { text: 'the board', station: 'N0CALL-7', reference: 'Q4' },
    ])
  })

  it('keeps the octets of any script, over a restart, out on the air and in the report', async () => {
    const file = temporaryFile()
    const clock = virtualClock()
    const text = 'Grüße! Привет, 山頂で 👩\u200d🚒 e\u0301'
    const first = openStore({ file, clock })
    const node = mailNode({ store: first, clock })
    node.ask('N0CALL-7', `leave N0CALL-8 ${text}{1`)
    expect((await converse(node, ['N0CALL-7'], 5)).join()).toContain('Kept 7 days for N0CALL-8')
    node.node.stop()
    first.close()
    const again = mailNode({ store: openStore({ file, clock }), clock, seed: 2 })
    expect(entries(again)[0]).toMatchObject({ text })
    again.ask('N0CALL-8', 'collect{1')
    await converse(again, ['N0CALL-8'], 60)
    const carriers = again.port.sent.filter(({ request }) =>
      Buffer.from(request.octets).includes(Buffer.from(`:N0CALL-8 :N0CALL-7: ${text}{`)),
    )
    expect(carriers).toHaveLength(1)
    again.ask('N0CALL-7', 'echo here{2')
    await converse(again, ['N0CALL-7'], 60)
    // behind two addresses, control and PID
    const reports = again.port.sent.map(({ request }) =>
      Buffer.from(request.octets.subarray(16)).toString(),
    )
    expect(reports.join('\n')).toContain(
      'Your message to N0CALL-8 was delivered: Grüße! Привет, 山頂で',
    )
    expect(reports.join('\n')).not.toContain('\ufffd')
  })

  it('is refused where it would not fit, by characters and by octets', async () => {
    const node = mailNode()
    const answerTo = async (text: string, number: number): Promise<string> => {
      node.ask('N0CALL-7', `leave N0CALL-8 ${text}{${number}`)
      return (await converse(node, ['N0CALL-7'], 5)).join()
    }
    const room = 67 - 'N0CALL-7: '.length
    expect(await answerTo('山'.repeat(room), 1)).toContain('Kept')
    expect(await answerTo('山'.repeat(room + 1), 2)).toContain('too long')
    expect(await answerTo('🏔'.repeat(57), 3)).toContain('Kept')
    expect(await answerTo('🏔'.repeat(58), 4)).toContain('too long')
  })

  it('reports wait until their receiver is heard again', async () => {
    const node = mailNode({ options: { mailbox: { keepMs: 3_600_000 } } })
    node.ask('N0CALL-7', 'leave N0CALL-8 one{1')
    await converse(node, ['N0CALL-7'])
    const lost = await converse(node, [], 4_500)
    expect(lost.filter((text) => text.includes('not collected'))).toHaveLength(5)
    expect(node.node.state().parkedMessageCount).toBe(1)
    node.hear('N0CALL-7>APZ001:>back again')
    expect((await converse(node, ['N0CALL-7'], 5)).join()).toContain('not collected')
    expect(node.node.state().openMessageCount).toBe(0)
  })

  it('a report whose receiver is never heard again expires', async () => {
    const node = mailNode({ options: { mailbox: { keepMs: 3_600_000 } } })
    node.ask('N0CALL-7', 'leave N0CALL-8 one{1')
    await converse(node, ['N0CALL-7'])
    await node.wait(2 * 3_600 + 300)
    expect(node.node.state().openMessageCount).toBe(0)
    const report = node.store.messages.query().at(-1)
    expect(report).toMatchObject({
      kind: 'report',
      state: 'expired',
      reason: 'its station was not heard again in time',
    })
  })
})

describe('after a restart on the same database', () => {
  const restart = (file: string, clock: ReturnType<typeof virtualClock>) =>
    mailNode({ file, clock })

  it('a question that was accepted and not answered is answered, its effects made once', async () => {
    const file = temporaryFile()
    const clock = virtualClock()
    let hang = true
    const slow = {
      ...leaveService,
      answer: (...given: Parameters<typeof leaveService.answer>) => {
        const answer = leaveService.answer(...given)
        // the process dies after the message was kept, before the answer was
        return hang ? new Promise<string>(() => {}) : answer
      },
    }
    const first = testNode({ services: [slow], file, clock })
    first.ask('N0CALL-7', 'leave N0CALL-8 hello{1')
    await first.wait(2)
    expect(first.sentTexts()).toEqual([':N0CALL-7 :ack1'])
    first.node.stop()
    first.store.close()
    hang = false
    const second = testNode({ services: [slow], file, clock })
    const texts = await converse(second, ['N0CALL-7'])
    expect(texts).toHaveLength(1)
    expect(texts[0]).toContain('Kept 7 days for N0CALL-8')
    expect(second.store.mailbox.recent(10)).toHaveLength(1)
  })

  it('what was being delivered goes on under its number', async () => {
    const file = temporaryFile()
    const clock = virtualClock()
    const first = restart(file, clock)
    first.ask('N0CALL-7', 'leave N0CALL-8 hello{1')
    await converse(first, ['N0CALL-7'])
    first.ask('N0CALL-8', 'collect{1')
    const before = (await converse(first, [], 5)).find((text) => text.includes('N0CALL-7: hello'))
    first.node.stop()
    first.store.close()
    const second = restart(file, clock)
    const after = await converse(second, ['N0CALL-7', 'N0CALL-8'])
    expect(after).toContain(before)
    expect(second.store.mailbox.recent(10)[0]?.state).toBe('delivered')
  })

  it('a question that is too old to be answered is given up with a reason', async () => {
    const file = temporaryFile()
    const store = openStore({ file, clock: virtualClock() })
    store.durably('a test', () =>
      store.questions.insert({
        from: 'N0CALL-7',
        addressee: 'N0DE-10',
        number: '1',
        text: 'echo hi',
        radio: 0,
        heardWallMs: Date.UTC(2026, 0, 1) - 7_200_000,
        ownPart: '',
      }),
    )
    store.close()
    const node = mailNode({ file })
    await node.wait(60)
    expect(node.sentTexts()).toEqual([])
    expect(node.store.questions.recent(1)[0]).toMatchObject({
      state: 'given up',
      reason: 'the node was away for 120 minutes',
    })
  })
})

describe('notices', () => {
  it('keep the characters of any script, on the board and as bulletins', async () => {
    const node = mailNode({
      options: { beacons: { schedules: [{ kind: 'notices', everyMs: 3_600_000 }] } },
    })
    const text = 'Hütte 山 bis 20:00 offen 🏔️'
    node.ask('N0CALL-7', `post ${text}{1`)
    expect((await converse(node, ['N0CALL-7'], 5)).join()).toContain('On the board')
    node.ask('N0CALL-8', 'board{1')
    await converse(node, ['N0CALL-8'], 5)
    node.node.beaconNow('notices')
    await node.wait(5)
    const sent = node.port.sent.map(({ request }) => Buffer.from(request.octets).toString())
    expect(sent.filter((one) => one.includes(`:N0CALL-7 now: ${text}{`))).toHaveLength(1)
    expect(
      sent.filter((one) => one.includes(`:BLN5     :N0CALL-7: ${text}`)).length,
    ).toBeGreaterThan(0)
  })

  it('are posted once, shown to everybody, and limited', async () => {
    const node = mailNode({ options: { notices: { perSender: 1 } } })
    node.ask('N0CALL-7', 'post path is open{1')
    await converse(node, ['N0CALL-7'], 5)
    node.ask('N0CALL-7', 'post path is open{1')
    await converse(node, ['N0CALL-7'], 5)
    node.ask('N0CALL-7', 'post again{2')
    expect((await converse(node, ['N0CALL-7'], 5)).join()).toContain(
      'Not posted: yours are 1 of 1. The oldest goes in 7 days.',
    )
    node.ask('N0CALL-8', 'board{1')
    const texts = await converse(node, ['N0CALL-8'], 10)
    expect(texts.filter((text) => text.includes('path is open'))).toHaveLength(1)
  })
})
