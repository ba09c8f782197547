import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { helpService } from '../../src/services/help.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import { openDatabase } from '../../src/store/database.js'
import type { SqlValue } from '../../src/store/sqliteDriver.js'
import { openStore } from '../../src/store/store.js'
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
