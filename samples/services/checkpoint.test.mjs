//   node --test samples/services/
import assert from 'node:assert/strict'
import { copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { after, test } from 'node:test'
import { pathToFileURL } from 'node:url'

// The list stands beside the service, so the test works on a copy.
const folder = mkdtempSync(join(tmpdir(), 'checkpoint-'))
after(() => rmSync(folder, { recursive: true }))
copyFileSync(new URL('./checkpoint.mjs', import.meta.url), join(folder, 'checkpoint.mjs'))
const { default: checkpoint } = await import(pathToFileURL(join(folder, 'checkpoint.mjs')).href)

const node = { utcOffsetMinutes: 120 }
const ask = (id, rest, more = {}) =>
  checkpoint.answer(
    { id, from: 'N0CALL-7', rest, words: rest.split(' ') },
    { node, nowWallMs: Date.UTC(2026, 5, 21, 12, 5), rehearsal: false, ...more },
  )
const list = () => readFileSync(join(folder, 'checkpoint.csv'), 'utf8')

test('a rehearsal answers and writes nothing', () => {
  assert.equal(
    ask('ask-1', '7 cold', { rehearsal: true }),
    '7 noted at Coldwell 14:05. 1 passed there.',
  )
  assert.equal(existsSync(join(folder, 'checkpoint.csv')), false)
})

test('who passes is noted once, however often a question is asked', () => {
  assert.equal(ask('Q1-a', '12 cold'), '12 noted at Coldwell 14:05. 1 passed there.')
  assert.equal(
    ask('Q1-a', '12 cold', { nowWallMs: Date.UTC(2026, 5, 21, 13) }),
    '12 noted at Coldwell 14:05. 1 passed there.',
  )
  assert.equal(ask('Q2-b', '13 cold'), '13 noted at Coldwell 14:05. 2 passed there.')
  assert.equal(
    list(),
    'Q1-a,2026-06-21T12:05:00.000Z,12,Coldwell\nQ2-b,2026-06-21T12:05:00.000Z,13,Coldwell\n',
  )
})

test('who was seen where, and what is asked wrongly', () => {
  assert.equal(ask('Q3-c', '12'), 'Number 12 passed Coldwell at 14:05.')
  assert.equal(ask('Q4-d', '99'), 'Number 99 was seen nowhere yet.')
  assert.match(ask('Q5-e', '12 paris'), /^No checkpoint "paris"/)
  assert.match(ask('Q6-f', ''), /^Whose number\?/)
})
