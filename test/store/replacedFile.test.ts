import { copyFileSync, mkdirSync, renameSync, rmSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { openSqlite } from '../../src/store/sqliteDriver.js'
import type { Store } from '../../src/store/store.js'
import { openTestStore, temporaryFile } from './openTestStore.js'

const ask = (store: Store, text: string) =>
  store.durably('a question', () =>
    store.questions.insert({
      ...{ from: 'N0CALL-7', addressee: 'N0DE', number: '1', text, radio: 0, heardWallMs: 1_000 },
      ownPart: 'x',
    }),
  )
/** What the file that has the name holds, whoever has it open. */
const kept = (file: string): string[] => {
  const sqlite = openSqlite(file, { readOnly: true })
  const rows = sqlite.all<{ text: string }>('SELECT text FROM questions ORDER BY id')
  sqlite.close()
  return rows.map(({ text }) => text)
}

describe('a database that is gone from under the node', () => {
  it('deleted: is begun anew with what was open, and what is called kept is in it', () => {
    const file = temporaryFile()
    const { store, faults } = openTestStore(file)
    ask(store, 'open')
    const ended = ask(store, 'ended')
    if (ended.ok) store.durably('its end', () => store.questions.end(ended.value.id, 'answered', 1))
    for (const suffix of ['', '-wal', '-shm']) rmSync(file + suffix, { force: true })
    const next = ask(store, 'after')
    expect(next.ok && next.value.id).toBe(3)
    expect(kept(file)).toEqual(['open', 'after'])
    expect(faults.map(({ code }) => code)).toEqual(['store-replaced'])
    expect(faults[0]!.message).toMatch(/opened anew, with the 1 questions/)
    store.close()
  })

  it('deleted: letters, what services keep, and a question whose answer waits are carried over', () => {
    const file = temporaryFile()
    const { store } = openTestStore(file)
    const answered = ask(store, 'answered')
    store.durably('all', () => {
      store.letters.insert({
        ...{ from: 'N0CALL-7', to: 'N0CALL-8', subject: 'walk', text: 'from the mill' },
        ...{ leftWallMs: 1_000, expiresWallMs: 9_000_000, expiryTrusted: true },
      })
      store.serviceData.set('check-in', 'today', '["N0CALL-7"]')
      const questionId = answered.ok ? answered.value.id : 0
      store.questions.end(questionId, 'answered', 1)
      store.messages.insert({
        ...{ kind: 'answer', to: 'N0CALL-7', number: '101', replyTo: undefined, text: 'hi' },
        ...{ questionId, mailboxId: undefined, radio: 0, state: 'waiting' },
        ...{ createdWallMs: 1_000, notAfterWallMs: 9_000_000 },
      })
    })
    for (const suffix of ['', '-wal', '-shm']) rmSync(file + suffix, { force: true })
    expect(ask(store, 'after').ok).toBe(true)
    expect(kept(file)).toEqual(['answered', 'after'])
    expect(store.letters.waitingFor('N0CALL-8', undefined)).toMatchObject([
      { text: 'from the mill' },
    ])
    expect(store.serviceData.all('check-in').get('today')).toBe('["N0CALL-7"]')
    store.close()
  })

  it('deleted: what a client wants sent is on record, and what became of it, too', () => {
    const file = temporaryFile()
    const { store } = openTestStore(file)
    const octets = new Uint8Array([1, 2, 3])
    const wanted = { atWallMs: 1_000, radio: 0, priority: 'client', octets, client: 'tcp' } as const
    const [sent, open] = [store.transmissions.begin(wanted), store.transmissions.begin(wanted)]
    store.transmissions.end(sent!, { outcome: 'sent', airtimeMs: 500, reason: undefined })
    store.transmissions.query()
    for (const suffix of ['', '-wal', '-shm']) rmSync(file + suffix, { force: true })
    expect(ask(store, 'after').ok).toBe(true)
    expect(store.transmissions.query()).toMatchObject([{ ...wanted, outcome: 'queued' }])
    store.transmissions.end(open!, { outcome: 'sent', airtimeMs: 400, reason: undefined })
    expect(store.transmissions.query()).toMatchObject([{ outcome: 'sent', airtimeMs: 400 }])
    store.close()
  })

  it('deleted, with rows in it that are damaged: these stay behind, and nothing else', () => {
    const file = temporaryFile()
    const { store, faults } = openTestStore(file)
    store.durably('a count', () => store.count('number'))
    for (const text of ['damaged', 'whole']) ask(store, text)
    const other = openSqlite(file)
    // more than a number of the program's language holds
    other.exec("UPDATE questions SET last_heard_ms = 9007199254740993 WHERE text = 'damaged'")
    other.exec('UPDATE counters SET value = 9007199254740993')
    other.close()
    for (const suffix of ['', '-wal', '-shm']) rmSync(file + suffix, { force: true })
    expect(ask(store, 'after').ok).toBe(true)
    expect(kept(file)).toEqual(['whole', 'after'])
    expect(faults.map(({ code }) => code)).toEqual(['store-replaced'])
    store.close()
  })

  it('replaced by an older copy: that is taken, with what was open', () => {
    const file = temporaryFile()
    const { store, faults } = openTestStore(file)
    ask(store, 'old')
    store.close()
    copyFileSync(file, `${file}.copy`)
    const { store: node, faults: told } = openTestStore(file)
    ask(node, 'new')
    for (const suffix of ['-wal', '-shm']) rmSync(file + suffix, { force: true })
    renameSync(`${file}.copy`, file)
    expect(ask(node, 'after').ok).toBe(true)
    expect(kept(file)).toEqual(['old', 'new', 'after'])
    expect([faults.length, told.map(({ code }) => code)]).toEqual([0, ['store-replaced']])
    node.close()
  })

  it('where none can be opened in its place, nothing is called kept until one can', () => {
    const file = temporaryFile()
    const { store } = openTestStore(file)
    ask(store, 'open')
    for (const suffix of ['', '-wal', '-shm']) rmSync(file + suffix, { force: true })
    mkdirSync(file)
    expect(ask(store, 'refused').ok).toBe(false)
    rmSync(file, { recursive: true })
    expect(ask(store, 'after').ok).toBe(true)
    expect(kept(file)).toEqual(['open', 'after'])
    store.close()
  })
})
