import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { bulletinRecords, bulletinsService, objectRecords } from '../../src/services/bulletins.js'
import { helpService } from '../../src/services/help.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import { watchRecords } from '../../src/services/watchRecords.js'
import { openDatabase } from '../../src/store/database.js'
import type { SqlValue } from '../../src/store/sqliteDriver.js'
import { openStore } from '../../src/store/store.js'
import { openTestStore } from '../store/openTestStore.js'
import { echoService, testNode } from './testNode.js'

const folder = mkdtempSync(join(tmpdir(), 'ridgepost-rows-'))
afterAll(() => rmSync(folder, { recursive: true }))

const services = [echoService, helpService(), leaveService, collectService]
const octets = new Uint8Array([1, 2, 3])

/** A database that a node has left, changed by hand before the next one starts on it. */
async function startedOn(
  change: (run: (sql: string, ...values: SqlValue[]) => void) => void,
  before: (node: ReturnType<typeof testNode>) => Promise<void> = async () => {},
) {
  const file = join(mkdtempSync(join(folder, 'node-')), 'node.db')
  const clock = virtualClock()
  const store = openStore({ file, clock })
  const first = testNode({ clock, store, services })
  await before(first)
  first.node.stop()
  store.close()
  const database = openDatabase({ file, onFault: () => {}, wallMs: clock.wallMs })
  change((sql, ...values) => void database.run(sql, ...values))
  database.close()
  const faults: string[] = []
  const again = openStore({ file, clock, onFault: ({ code }) => faults.push(code) })
  return { node: testNode({ clock, store: again, services }), faults }
}

describe('a start on rows that an older program or a damaged card left', () => {
  it('skips them, says so once, and answers', async () => {
    const messageSql = `INSERT INTO messages (kind, to_call, number, text, radio, state, created_ms, not_after_ms)
      VALUES (?, ?, ?, ?, ?, 'waiting', ?, ?)`
    const questionSql = `INSERT INTO questions (from_call, addressee, number, text, radio, heard_ms, last_heard_ms, state)
      VALUES (?, 'N0DE-10', '1', ?, 0, ?, ?, 'accepted')`
    const { node, faults } = await startedOn((run) => {
      run(messageSql, 'answer', 'NO CALL AT ALL', '1', 'to nobody', 0, 1, 9e12)
      run(messageSql, 'answer', 'N0CALL-7', '1', octets, 0, 1, 9e12)
      run(messageSql, 'poem', 'N0CALL-7', '2', 'of no kind', 0, 1, 9e12)
      run(messageSql, 'answer', 'N0CALL-7', '3', 'for ever', 0, 1, 1e300)
      run(messageSql, 'answer', 'N0CALL-7', 'long, long', 'its number', 99, 1, 9e12)
      run(questionSql, octets, 'echo x', 1, 1)
      run(questionSql, 'N0CALL-7', octets, 1, 1)
      run(questionSql, 'N0CALL-7', 'echo when', 'yesterday', 1)
      run(
        `INSERT INTO mailbox (question_id, from_call, to_call, text, left_ms, expires_ms, state)
         VALUES ('Q9', 'N0CALL-7', 'N0CALL-8', 'hi', 'x', 1, 'waiting')`,
      )
      run(
        'INSERT INTO stations (call, last_heard_ms, details) VALUES (\'N0CALL-8\', 1, \'{"call":"N0CALL-8","hours":7}\')',
      )
    })
    node.ask('N0CALL-8', 'echo hello{1')
    await node.wait(5)
    expect(node.sentTexts()).toEqual([
      ':N0CALL-8 :ack1',
      expect.stringMatching(/^:N0CALL-8 :hello\{/),
    ])
    expect(new Set(faults)).toEqual(new Set(['store-bad-row']))
    const { badRowCount } = node.store.state()
    expect(faults).toHaveLength(badRowCount)
    // the mailbox entry is met when its receiver is heard
    expect(badRowCount).toBe(9)
    const told = node.events.filter(({ kind }) => kind === 'fault')
    expect(told).toMatchObject([
      {
        text: 'the database at the start',
        reason: '8 rows are not whole: left out, and kept',
      },
    ])
    // whatever the row of the long number makes: it ends, and nothing else does
    await node.wait(7_200)
    expect(node.node.state().openMessageCount).toBe(0)
    expect(node.node.state().faultCount).toBe(0)
  })

  it('takes no way back from a row that no frame can carry', async () => {
    for (const via of [['DIG/1'], [''], ['-3'], ['N0 CAL'], ['n1call'], ['N0DE-10']]) {
      const { node } = await startedOn(
        (run) =>
          run(
            "UPDATE stations SET details = json_set(details, '$.via', json(?))",
            JSON.stringify(via),
          ),
        async (first) => {
          first.ask('N0CALL-8', 'echo before{1')
          await first.wait(2)
        },
      )
      await node.wait(200)
      const lines = node.port.sent.map(({ line }) => line)
      expect(lines.length).toBeGreaterThan(3)
      const way = via[0] === 'N0DE-10' ? '' : ',WIDE1-1'
      for (const line of lines) expect(line).toContain(`N0DE-10>APZRPT${way}:`)
      expect(node.node.state().faultCount).toBe(0)
    }
  })

  it('mail whose carrier cannot be read waits again', async () => {
    const { node } = await startedOn(
      (run) => run("UPDATE messages SET text = ? WHERE kind = 'mailbox'", octets),
      async (first) => {
        first.ask('N0CALL-8', 'leave N0CALL-7 meet at the hut{1')
        await first.wait(5)
        first.ask('N0CALL-7', 'collect{1')
        await first.wait(2)
      },
    )
    node.ask('N0CALL-7', 'collect{2')
    await node.wait(60)
    expect(node.sentTexts().join('\n')).toContain('N0CALL-8: meet at the hut')
  })
})

describe('what the node keeps as JSON, in rows of another shape', () => {
  const wallMs = Date.UTC(2026, 0, 1)
  const position = { latitudeDeg: 49, longitudeDeg: -72 }
  const bulletins = bulletinsService({ positionAgeMaxMs: 3_600_000 })

  /** A node on records, each under a key of its own: no object at all, and with each of some fields. */
  function nodeOn(
    service: string,
    sound: Readonly<Record<string, object>>,
    damaged: readonly object[],
  ) {
    const { store, clock, faults } = openTestStore()
    const [whole] = Object.values(sound)
    const texts = ['null', '7', '"text"', '[]', '{}']
    texts.push(...damaged.map((fields) => JSON.stringify({ ...whole, ...fields })))
    const bad = new Map(texts.map((json, number) => [`BAD${number}`, json]))
    const good = Object.entries(sound).map(([key, one]) => [key, JSON.stringify(one)] as const)
    store.durably('a test', () => {
      for (const [key, json] of [...bad, ...good]) store.serviceData.set(service, key, json)
    })
    const objects: { name: string; position: object; symbol: string; comment: string }[] = []
    const node = testNode({
      ...{ store, clock, services: [bulletins, echoService] },
      options: { position, beacons: { schedules: [], objects: () => objects as never } },
    })
    /** each is told once, and stays */
    const expectLeftOut = (toldAtStart: readonly string[] = []): void => {
      const kept = store.serviceData.all(service)
      for (const [key, json] of bad) expect(kept.get(key)).toBe(json)
      const rows = faults.map(({ code, message }) =>
        [code, /service_data, row (.+): got another value, expected a/.exec(message)?.[1]].join(),
      )
      expect(rows.sort()).toEqual(
        [...bad.keys()].map((key) => `store-bad-row,${service} ${key}`).sort(),
      )
      expect(store.state().badRowCount).toBe(bad.size)
      expect(node.node.state().faultCount).toBe(0)
      const told = node.events.filter(({ kind }) => kind === 'fault')
      expect(told.map(({ reason }) => reason)).toEqual(toldAtStart)
    }
    const told = async (question: string): Promise<string> => {
      node.sentTexts()
      node.ask('N0CALL-7', question)
      await node.wait(60)
      return node.sentTexts().join(' ')
    }
    return { ...node, objects, expectLeftOut, told }
  }

  it('bulletins: the others are told, and new ones are kept', async () => {
    const net = { from: 'Q1ABC', atWallMs: wallMs, text: 'Net tonight', group: 'WX' }
    const { hear, told, expectLeftOut } = nodeOn(bulletinRecords, { 'Q1ABC WX 1': net }, [
      ...[{ from: 7 }, { atWallMs: 'now' }, { atWallMs: null }, { text: null }, { group: null }],
    ])
    hear('Q2ABC>APZRPP::BLN1     :On the hill')
    hear('Q1ABC>APZRPP::BLN1WX   :Net at nine')
    expect(await told('bulletins')).toMatch(/Q1ABC to WX now: Net at nine.*Q2ABC now: On the hill/)
    expect(await told('wetter')).toMatch(/conditions/)
    expectLeftOut()
  })

  it('objects of others: they are told, and only their sender takes them away', async () => {
    const hut = { from: 'Q1ABC', atWallMs: wallMs, text: 'open', ...position }
    const { hear, told, expectLeftOut, store } = nodeOn(objectRecords, { HUT: hut, TENT: hut }, [
      ...[{ from: null }, { atWallMs: {} }, { text: 7 }, { latitudeDeg: 91 }, { latitudeDeg: '4' }],
      ...[{ longitudeDeg: -181 }, { longitudeDeg: null }],
    ])
    hear('Q1ABC>APZRPP:;HUT      _092345z4903.50N/07201.75W>')
    for (let number = 0; number < 5; number++)
      hear(`Q1ABC>APZRPP:;BAD${number}     _092345z4903.50N/07201.75W>`)
    expect(await told('bulletins objects')).toMatch(/:TENT at the node, now: open/)
    expect(store.serviceData.all(objectRecords).has('HUT')).toBe(false)
    expectLeftOut()
  })

  it('own objects: those that are there are told, and those that are gone', async () => {
    const gone = { name: 'GONE', position, symbol: '/r', comment: 'open', toldGone: 0 }
    const { node, wait, sentTexts, objects, expectLeftOut } = nodeOn(
      ...(['(own objects)', { GONE: gone }] as const),
      [
        ...[{ name: 7 }, { position: null }, { position: { latitudeDeg: 99, longitudeDeg: 0 } }],
        ...[
          { position: { latitudeDeg: 9, longitudeDeg: '0' } },
          { symbol: null },
          { symbol: 'ab' },
        ],
        ...[{ comment: null }, { toldGone: null }, { toldGone: 0.5 }, { toldGone: -1 }],
      ],
    )
    objects.push({ name: 'HUT', position, symbol: '/r', comment: '' })
    const place = '010000z4900.00N/07200.00Wr'
    node.beaconNow('objects')
    await wait(1)
    expect(sentTexts()).toEqual([`;HUT      *${place}`, `;GONE     _${place}open`])
    expectLeftOut()
  })

  it('watches: those that stand are counted down', async () => {
    const watch = {
      ...{ id: 'Q1', kind: 'back', from: 'N0CALL-7', totalMs: 60_000, remainingMs: 60_000 },
      dueText: '0100',
    }
    const { events, wait, expectLeftOut } = nodeOn(watchRecords, { 'back N0CALL-7': watch }, [
      ...[{ id: 7 }, { kind: 'forth' }, { from: null }, { totalMs: null }, { remainingMs: 'long' }],
      ...[{ dueText: 7 }, { kind: 'tell', call: 7 }, { name: null }, { boot: null }],
      ...[{ boot: { id: 'x' } }, { boot: { id: 'x', dueMs: 1, wallAheadMs: 'x' } }],
    ])
    await wait(3_600)
    expect(events.map(({ kind }) => kind)).toContain('overdue')
    expectLeftOut(['16 rows are not whole: left out, and kept'])
  })
})
