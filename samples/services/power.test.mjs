//   node --test samples/services/
import assert from 'node:assert/strict'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { after, test } from 'node:test'
import { testService } from 'ridgepost/testing'
import power from './power.mjs'

const folder = mkdtempSync(join(tmpdir(), 'power-'))
after(() => rmSync(folder, { recursive: true }))
const file = join(folder, 'meter.json')
const measured = (values) => writeFileSync(file, JSON.stringify(values))
const open = () => testService(power, { settings: { file: `file://${file}`, warn: ['Q1OPS'] } })

test('tells battery, sun and load, and how old that is', async () => {
  measured({ batteryV: 12.64, solarW: 45, loadW: 8, time: '2026-06-21T15:40:00Z' })
  const { messages } = await open().ask('')
  assert.deepEqual(messages, ['Battery 12.6 V, sun 45 W, load 8 W, 20 min ago'])
})

test('warns once, and again only when it had recovered', async () => {
  const node = open()
  const told = async (batteryV) => {
    measured({ batteryV })
    return (await node.tick()).sent.length
  }
  assert.deepEqual(
    [await told(12.5), await told(11.7), await told(11.6), await told(11.85), await told(11.7)],
    [0, 1, 0, 0, 0],
  )
  assert.equal(await told(12.2), 0)
  assert.equal(await told(11.7), 1)
})

test('keeps a day of voltages', async () => {
  const node = open()
  for (const batteryV of [12.9, 12.1, 13.4]) {
    measured({ batteryV })
    await node.tick()
  }
  const told = async () => (await node.ask('day')).messages[0]
  assert.equal(await told(), 'Battery in 24 h: least 12.1 V, most 13.4 V.')
  node.pass(24 * 3_600_000)
  measured({ batteryV: 12.5 })
  await node.tick()
  assert.equal(await told(), 'Battery in 24 h: least 12.5 V, most 12.5 V.')
})

test('says so when there is nothing, or nothing of use', async () => {
  for (const text of ['', '{', '{"batteryV":"full"}', '{"batteryV":12,"time":"noon"}']) {
    writeFileSync(file, text)
    assert.match((await open().ask('')).messages[0], /^Nothing was measured/)
  }
})

test('is offered while there is something, and something new', async () => {
  const node = open()
  writeFileSync(file, '{')
  assert.deepEqual(await node.ready(), { state: 'empty', reason: 'the meter has written nothing' })
  measured({ batteryV: 12.6, time: '2026-06-21T04:00:00Z' })
  assert.deepEqual(await node.ready(), { state: 'ready' })
  node.pass(60_000)
  assert.deepEqual(await node.ready(), { state: 'stale', reason: 'last measured 12 h ago' })
})
