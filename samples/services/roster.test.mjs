//   node --test samples/services/
// 'ridgepost/testing' is a node with one service: its data, settings and ids behave as the real one's do.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { testService } from 'ridgepost/testing'
import roster from './roster.mjs'

// Sunday, 16:00 UTC, which is 18:00 local time.
const noon = { node: { utcOffsetMinutes: 120 } }

test('who puts himself down is told when, and is on the roster', async () => {
  const node = testService(roster, noon)
  assert.deepEqual((await node.ask('add mon 20:00')).messages, ['You are down for Mon 20:00. 73'])
  assert.match((await node.ask('')).messages[0], /^Nobody is on duty; next is N0CALL-7, Mon 20:00/)
  node.pass(26 * 3_600_000)
  assert.match((await node.ask('')).messages[0], /^N0CALL-7 is on duty; nobody is next/)
})

test('a time has one watch, and only its own can drop it', async () => {
  const node = testService(roster, noon)
  await node.ask('add 2026-06-27 18:00')
  const other = { from: 'Q1KIT' }
  assert.deepEqual((await node.ask('add sat 18:00', other)).messages, ['N0CALL-7 has Sat 18:00.'])
  assert.match((await node.ask('drop sat 18:00', other)).messages[0], /^You are not down/)
  assert.match((await node.ask('drop sat 18:00')).messages[0], /^You are off/)
  assert.deepEqual(node.kept(), {})
})

test('a reminder goes out once, before the duty begins', async () => {
  const node = testService(roster, { ...noon, settings: { remindMinutes: 15 } })
  await node.ask('add sun 18:25')
  assert.deepEqual((await node.tick()).sent, [])
  const reminder = [{ call: 'N0CALL-7', text: 'Your duty begins Sun 18:25.' }]
  assert.deepEqual((await node.tick()).sent, reminder)
  assert.deepEqual((await node.tick()).sent, [])
})

test('what is over goes, a rehearsal keeps nothing, and nonsense is answered', async () => {
  const node = testService(roster, noon)
  await node.rehearse('add mon 20:00')
  assert.deepEqual(node.kept(), {})
  await node.ask('add sun 18:30')
  node.pass(3 * 3_600_000)
  await node.tick()
  assert.deepEqual(node.kept(), {})
  for (const text of ['add', 'add someday 18:00', 'add sat 25:00', 'add 2026-02-30 18:00x'])
    assert.match((await node.ask(text)).messages[0], /^When\?/)
  assert.match((await node.ask('add 2020-01-01 10:00')).messages[0], /is over/)
})
