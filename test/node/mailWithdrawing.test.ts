import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { mailService } from '../../src/services/mail.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import { openTestStore } from '../store/openTestStore.js'
import { type TestNode, type TestNodeOptions, testNode } from './testNode.js'

const services = [leaveService, collectService, mailService]
const mailNode = (given: TestNodeOptions = {}): TestNode => testNode({ services, ...given })
const parts = /^:(.{9}):(.*?)(?:\{(\w+))?$/

/** What the node sends while these stations acknowledge, without acknowledgements and numbers: 'N0CALL-7 text'. */
async function converse(node: TestNode, calls: readonly string[], seconds = 60): Promise<string[]> {
  const texts: string[] = []
  for (let second = 0; second < seconds; second++) {
    await node.wait(1)
    for (const sent of node.sentTexts()) {
      const [, to = '', text = '', number] = parts.exec(sent) ?? []
      if (number !== undefined && calls.includes(to.trim())) node.ask(to.trim(), `ack${number}`)
      if (!/^(ack|rej)/.test(text)) texts.push(`${to.trim()} ${text}`)
    }
  }
  return texts
}

let number = 0
async function ask(node: TestNode, from: string, text: string): Promise<string[]> {
  node.ask(from, `${text}{${++number}`)
  const said = await converse(node, [from], 30)
  return said.flatMap((one) => (one.startsWith(`${from} `) ? [one.slice(from.length + 1)] : []))
}

describe('mail: what somebody left', () => {
  it('is told with what became of it, and only to who left it', async () => {
    const node = mailNode()
    expect(await ask(node, 'N0CALL-7', 'mail')).toEqual([
      'Nothing waits for you here, and you left nothing lately.',
    ])
    await ask(node, 'N0CALL-7', 'leave N0CALL-8 meet at the hut')
    await ask(node, 'N0CALL-7', 'leave Q1ABC bring the map')
    expect(await ask(node, 'N0CALL-7', 'mail')).toEqual([
      '2 to Q1ABC, left 1min ago, waits: bring the map',
      '1 to N0CALL-8, left 1min ago, waits: meet at the hut',
    ])
    expect(await ask(node, 'N0CALL-8', 'mail')).toContain(
      '1 message waits for you here. Send: collect',
    )
    node.ask('N0CALL-8', 'collect{1')
    await converse(node, ['N0CALL-7', 'N0CALL-8'])
    expect(await ask(node, 'N0CALL-7', 'mail')).toEqual([
      '2 to Q1ABC, left 3min ago, waits: bring the map',
      '1 to N0CALL-8, delivered 1min ago: meet at the hut',
    ])
    expect(await ask(node, 'N0CALL-7', 'mail 2')).toEqual([
      '2 to Q1ABC, left 3min ago, waits: bring the map',
      'To take it back: mail cancel 2',
    ])
    expect(await ask(node, 'Q1ABC', 'mail 2')).toContain(
      '"2" is no message of yours. The list: mail',
    )
  })

  it('is withdrawn before it went out: it never does', async () => {
    const node = mailNode({ options: { mailbox: { deliver: 'at-once' } } })
    await ask(node, 'N0CALL-7', 'leave N0CALL-8 not this')
    expect(await ask(node, 'N0CALL-9', 'mail cancel 1')).toEqual([
      '"1" is no message of yours. The list: mail',
    ])
    expect(await ask(node, 'N0CALL-7', 'mail cancel 1')).toEqual([
      'Message 1 to N0CALL-8 is withdrawn.',
    ])
    // Asked again it says the same of it, and nothing happens.
    expect(await ask(node, 'N0CALL-7', 'mail cancel 1')).toEqual([
      '1 to N0CALL-8, withdrawn 1min ago: not this',
    ])
    node.hear('N0CALL-8>APZ001:>here')
    node.ask('N0CALL-8', 'collect{9')
    expect((await converse(node, ['N0CALL-8'])).join()).not.toContain('not this')
    expect(node.store.mailbox.find(1)).toMatchObject({ state: 'withdrawn' })
    expect(node.store.mailbox.openCountFrom('N0CALL-7')).toBe(0)
  })

  it('is withdrawn while it is on the air: no further copy goes out, and a late acknowledgement is told', async () => {
    const node = mailNode({ options: { mailbox: { deliver: 'at-once' } } })
    await ask(node, 'N0CALL-7', 'leave N0CALL-8 hello')
    node.hear('N0CALL-8>APZ001:>here')
    await node.wait(3)
    const [sent = ''] = node.sentTexts()
    expect(sent).toMatch(/^:N0CALL-8 :N0CALL-7: hello\{/)
    node.ask('N0CALL-7', 'mail cancel N0CALL-8{5')
    const after = await converse(node, ['N0CALL-7'], 600)
    expect(after).toEqual(['N0CALL-7 Message 1 is withdrawn, but N0CALL-8 may have it.'])
    node.ask('N0CALL-8', `ack${parts.exec(sent)![3]}`)
    expect(await converse(node, ['N0CALL-7'])).toEqual([
      'N0CALL-7 Your message to N0CALL-8 was delivered: hello',
    ])
    expect(node.store.mailbox.find(1)).toMatchObject({ state: 'delivered' })
  })

  it('which, is asked where several wait; nothing else is touched', async () => {
    const node = mailNode()
    await ask(node, 'N0CALL-7', 'leave N0CALL-8 one')
    expect(await ask(node, 'N0CALL-7', 'mail cancel')).toEqual([
      'Message 1 to N0CALL-8 is withdrawn.',
    ])
    await ask(node, 'N0CALL-7', 'leave N0CALL-8 two')
    await ask(node, 'N0CALL-7', 'leave Q1ABC three')
    expect((await ask(node, 'N0CALL-7', 'mail cancel'))[0]).toMatch(/^Which\?/)
    for (const odd of ['0', '-1', '1e9', '99999999999999999999', '2;3', 'B2', 'E1', "2'"]) {
      await node.wait(200)
      expect((await ask(node, 'N0CALL-7', `mail cancel ${odd}`)).join()).toContain('no message of')
    }
    expect(await ask(node, 'N0CALL-7', 'mail cancel 2 3')).toEqual([
      'Message 2 to N0CALL-8 is withdrawn.',
      'Message 3 to Q1ABC is withdrawn.',
    ])
  })

  it('a list is bounded, and a text is cut to its message', async () => {
    const node = mailNode()
    for (let at = 0; at < 12; at++)
      node.store.durably('filling', () =>
        node.store.mailbox.insert({
          ...{
            questionId: `q${at}`,
            from: 'N0CALL-7',
            to: 'Q1ABC',
            text: `${at}${'x'.repeat(55)}`,
          },
          ...{ leftWallMs: node.clock.wallMs(), expiresWallMs: 9e12, expiryTrusted: true },
        }),
      )
    const list = await ask(node, 'N0CALL-7', 'mail')
    expect(list).toHaveLength(4)
    expect(list[3]).toBe('9 more: mail all')
    for (const line of list) expect(line.length).toBeLessThanOrEqual(67)
    expect(await ask(node, 'N0CALL-7', 'mail all')).toHaveLength(9)
  })

  it('in the language of the station', async () => {
    const node = mailNode({ options: { language: 'de' } })
    await ask(node, 'N0CALL-7', 'leave N0CALL-8 Treffen an der Huette')
    expect(await ask(node, 'N0CALL-7', 'mail')).toEqual([
      '1 an N0CALL-8, vor 1min hinterlegt, wartet: Treffen an der Huette',
    ])
    expect(await ask(node, 'N0CALL-7', 'mail zurück 1')).toEqual([
      'Nachricht 1 an N0CALL-8 ist zurueckgenommen.',
    ])
  })
})

/**
 * A random life: three who leave and take back, of their own and of others; receivers that acknowledge, late or never; restarts at any
 * moment. What was said to be withdrawn never goes out, nothing of another's is touched, and each message has one end.
 */
async function life(seed: number): Promise<void> {
  const random = seededRandom(seed)
  const pick = <T>(all: readonly T[]): T => all[Math.floor(random() * all.length)]!
  const clock = virtualClock()
  const { store } = openTestStore(undefined, clock)
  const options = { mailbox: { deliver: pick(['at-once', 'on-request'] as const) } }
  const begin = (): TestNode => mailNode({ store, clock, options, seed: ++lives * 1000 + seed })
  let lives = 0
  let node = begin()
  const senders = ['Q1AA', 'Q2BB-7', 'Q3CC']
  const receivers = ['Q7XX', 'Q8YY-9', 'Q9ZZ']
  const onAir: { text: string; atMs: number }[] = []
  const saidWithdrawn = new Map<string, { atMs: number; perhaps: boolean; by: string }>()
  const late: (() => void)[] = []
  let asked = 0
  const step = async (seconds: number): Promise<void> => {
    for (let at = 0; at < seconds; at++) {
      await node.wait(1)
      for (const sent of node.sentTexts()) {
        const [, to = '', text = '', number] = parts.exec(sent) ?? []
        const call = to.trim()
        onAir.push({ text: `${call} ${text}`, atMs: clock.monotonicMs() })
        const told = /^Message (\d+) (?:to \S+ )?is withdrawn(.*)/.exec(text)
        if (told !== null && !saidWithdrawn.has(told[1]!))
          saidWithdrawn.set(told[1]!, {
            ...{ atMs: clock.monotonicMs(), by: call, perhaps: told[2] !== '.' },
          })
        if (number === undefined) continue
        const acknowledge = (): void => node.ask(call, `ack${number}`)
        const luck = random()
        if (senders.includes(call) || luck < 0.4) acknowledge()
        else if (luck < 0.65) late.push(acknowledge)
      }
    }
  }
  for (let at = 0; at < 60; at++) {
    const from = pick(senders)
    const known = store.mailbox.recent(50)
    const dice = random()
    if (dice < 0.35) node.ask(from, `leave ${pick(receivers)} text ${++asked} of ${from}{${asked}`)
    else if (dice < 0.65 && known.length > 0) {
      const question = `mail cancel ${pick(known).id}{${++asked}`
      node.ask(from, question)
      if (random() < 0.5) node.ask(from, question)
    } else if (dice < 0.75) node.hear(`${pick(receivers)}>APZ001:>here`)
    else if (dice < 0.85) node.ask(pick(receivers), `collect{${++asked}`)
    else if (dice < 0.92) late.shift()?.()
    else {
      node.node.stop()
      node = begin()
    }
    await step(Math.floor(random() * 40))
  }
  await step(1200)
  node.node.stop()
  const all = store.mailbox.recent(1000)
  for (const [id, { atMs, perhaps, by }] of saidWithdrawn) {
    const entry = all.find((one) => one.id === Number(id))!
    const what = `seed ${seed}: ${JSON.stringify(entry)}`
    expect(entry.from, what).toBe(by)
    const copies = onAir.filter(({ text }) => text.endsWith(`${entry.from}: ${entry.text}`))
    expect(
      copies.filter((one) => one.atMs > atMs),
      what,
    ).toEqual([])
    if (!perhaps) expect([copies, entry.state], what).toEqual([[], 'withdrawn'])
    else expect(['withdrawn', 'delivered', 'refused'], what).toContain(entry.state)
  }
  for (const entry of all) {
    const what = `seed ${seed}: ${JSON.stringify(entry)}`
    if (entry.state === 'withdrawn')
      expect([...saidWithdrawn.keys()], what).toContain(`${entry.id}`)
    const reports = onAir.filter(({ text }) => text.includes(`delivered: ${entry.text}`))
    if (entry.state === 'delivered') expect(reports.length, what).toBeGreaterThan(0)
    else expect(reports, what).toEqual([])
  }
}

const lifeCount = Number(process.env.LIVES ?? 6)

it(`in ${lifeCount} random lives what was withdrawn stays so, and nothing of another's is`, async () => {
  for (let seed = 1; seed <= lifeCount; seed++) await life(seed)
}, 240_000)
