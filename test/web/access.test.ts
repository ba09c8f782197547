import { linkSync, mkdtempSync, renameSync, rmSync, statSync } from 'node:fs'
import type { IncomingMessage } from 'node:http'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createAccess } from '../../src/web/access.js'
import { hashPassword, tokenHash } from '../../src/web/password.js'
import { createSessions } from '../../src/web/sessions.js'
import { type Asking, pageBench } from './pageBench.js'

type Bench = Awaited<ReturnType<typeof pageBench>>
let bench: Bench | undefined
const open = async (...given: Parameters<typeof pageBench>): Promise<Bench> => {
  bench = await pageBench(...given)
  return bench
}
afterEach(async () => {
  await bench?.close()
  bench = undefined
})

const password = 'four quite plain words'
const passwordHash = await hashPassword(password)
const login = (words = password): Asking => ({ method: 'POST', body: { password: words } })
const code = (answer: { json(): { error?: { code: string } } }) => answer.json().error?.code

describe('who may read', () => {
  it('this machine, without a login', async () => {
    const { ask } = await open()
    expect((await ask('/api/v1/state')).json()).toMatchObject({ visitor: { right: 'read' } })
    expect((await ask('/api/v1/config')).status).toBe(200)
  })

  it('nobody by a name that is not ours: DNS rebinding', async () => {
    const { ask } = await open({ hosts: ['hill.example'] })
    const byName = (host: string) => ask('/api/v1/state', { headers: { host } })
    expect((await byName('evil.example')).status).toBe(403)
    expect(code(await byName('evil.example:18700'))).toBe('host')
    for (const host of ['localhost:1', '127.0.0.1', '[::1]:18700', 'HILL.example:80'])
      expect((await byName(host)).status, host).toBe(200)
  })

  it('a forwarded request is never taken for one of this machine', async () => {
    const { ask } = await open()
    for (const name of ['x-forwarded-for', 'forwarded', 'via', 'x-real-ip']) {
      const answer = await ask('/api/v1/config', { headers: { [name]: '127.0.0.1' } })
      expect(answer.status, name).toBe(401)
    }
  })

  it('through a Unix socket only with a login, or what is public', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'page-'))
    const socket = join(folder, 'page.sock')
    try {
      const { ask, close } = await open({ socket, passwordHash })
      expect((await ask('/api/v1/stations')).status).toBe(401)
      expect((await ask('/healthz')).status).toBe(200)
      // whoever may not read learns the call, and that he may log in
      expect(Object.keys((await ask('/api/v1/state')).json())).toEqual([
        'call',
        'atWallMs',
        'visitor',
      ])
      await close()
      const open2 = await open({ socket, public: true })
      expect((await open2.ask('/api/v1/stations')).status).toBe(200)
      for (const path of ['config', 'transmissions', 'capture.pcap'])
        expect((await open2.ask(`/api/v1/${path}`)).status, path).toBe(401)
    } finally {
      rmSync(folder, { recursive: true })
    }
  })

  it('a socket that another node answers stays; one that a dead node left is taken', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'page-'))
    const socket = join(folder, 'page.sock')
    const kept = join(folder, 'kept')
    try {
      const first = await open({ socket })
      await expect(pageBench({ socket })).rejects.toThrow(
        /another process listens there.*page.socket/,
      )
      expect((await first.ask('/healthz')).status).toBe(200)
      linkSync(socket, kept)
      await first.close()
      renameSync(kept, socket)
      const next = await open({ socket })
      expect(statSync(socket).mode & 0o777).toBe(0o660)
      expect((await next.ask('/healthz')).status).toBe(200)
    } finally {
      rmSync(folder, { recursive: true })
    }
  })

  it('a forwarded header gives nobody beyond this machine a second set of tries', () => {
    const access = createAccess({
      ...{ viaSocket: false, allow: ['192.0.2.0/24', '2001:db8::/32'], hosts: [], tokens: [] },
      ...{ isPublic: true, sessions: createSessions(virtualClock()) },
    })
    const machine = (remoteAddress: string, more: Record<string, string> = {}) =>
      access.visitor({
        ...{ method: 'GET', headers: { host: 'localhost', ...more } },
        socket: { remoteAddress },
      } as unknown as IncomingMessage).machine
    const forwarded = { 'x-forwarded-for': '192.0.2.99' }
    expect(machine('192.0.2.7', forwarded)).toBe(machine('192.0.2.7'))
    expect(machine('2001:db8:1:2::7', forwarded)).toBe(machine('2001:db8:1:2:ffff::1'))
    expect(machine('127.0.0.1', forwarded)).toBe('a proxy')
  })

  it('beyond loopback there must be an allow list', async () => {
    await expect(pageBench({ address: '0.0.0.0' })).rejects.toThrow(/page.address: got 0.0.0.0/)
  })

  it('tokens: theirs, and no more than their scope', async () => {
    const token = [
      { name: 'dash', sha256: tokenHash('read-token-of-a-script'), scope: 'read' as const },
      { name: 'hand', sha256: tokenHash('control-token-of-a-script'), scope: 'control' as const },
    ]
    const { ask, store } = await open({ token })
    const with_ = (text: string, more: Asking = {}): Asking => ({
      ...more,
      headers: { authorization: `Bearer ${text}`, 'x-forwarded-for': '1.2.3.4' },
    })
    const hold: Asking = { method: 'PUT', body: {} }
    expect((await ask('/api/v1/config', with_('read-token-of-a-script'))).status).toBe(200)
    expect((await ask('/api/v1/config', with_('some-other-token-of-a-script'))).status).toBe(401)
    expect((await ask('/api/v1/radios/3/hold', with_('read-token-of-a-script', hold))).status).toBe(
      401,
    )
    expect(
      (await ask('/api/v1/radios/3/hold', with_('control-token-of-a-script', hold))).status,
    ).toBe(204)
    expect(store.events.query({ kinds: ['control'] })[0]?.reason).toContain('token hand')
  })
})

describe('the login', () => {
  it('a right password gives a cookie that scripts of a page cannot read', async () => {
    const { ask } = await open({ passwordHash })
    const answer = await ask('/api/v1/session', login())
    expect(answer.status).toBe(204)
    const [cookie] = answer.headers['set-cookie'] ?? []
    expect(cookie).toMatch(/^ridgepost=[\w-]{43}; Path=\/; HttpOnly; SameSite=Strict/)
    const headers = { cookie: cookie!.split(';')[0]! }
    expect((await ask('/api/v1/state', { headers })).json().visitor.right).toBe('control')
    await ask('/api/v1/session', { method: 'DELETE', headers })
    expect((await ask('/api/v1/state', { headers })).json().visitor.right).toBe('read')
  })

  it('a wrong one is refused, the sixth try is not looked at, and later it is again', async () => {
    const { ask, clock, store } = await open({ passwordHash })
    for (let count = 0; count < 5; count++)
      expect((await ask('/api/v1/session', login('wrong words'))).status).toBe(401)
    const sixth = await ask('/api/v1/session', login())
    expect(sixth.status).toBe(429)
    expect(Number(sixth.headers['retry-after'])).toBeGreaterThan(0)
    expect(store.events.query({ kinds: ['control'] })).toHaveLength(5)
    clock.advanceBy(16 * 60_000)
    expect((await ask('/api/v1/session', login())).status).toBe(204)
  })

  it('without a configured hash, or with one that is damaged, nobody gets in', async () => {
    const none = await open()
    expect((await none.ask('/api/v1/session', login())).status).toBe(403)
    await none.close()
    for (const damaged of ['scrypt:15:8:1', 'x', passwordHash.slice(0, -1), 'scrypt:1:1:1:AA:AA']) {
      const other = await open({ passwordHash: damaged })
      expect((await other.ask('/api/v1/session', login(''))).status).toBe(400)
      expect((await other.ask('/api/v1/session', login())).status, damaged).toBe(401)
      await other.close()
    }
  })
})

describe('changes', () => {
  const hold: Asking = { method: 'PUT', body: { reason: 'test' } }
  const loggedIn = async () => {
    const opened = await open({ passwordHash })
    const answer = await opened.ask('/api/v1/session', login())
    return { ...opened, cookie: answer.headers['set-cookie']![0]!.split(';')[0]! }
  }

  it('need a login also on this machine, and come from this page alone', async () => {
    const { ask, cookie, core } = await loggedIn()
    expect((await ask('/api/v1/radios/3/hold', hold)).status).toBe(401)
    const tried = (headers: Record<string, string>) =>
      ask('/api/v1/radios/3/hold', { ...hold, headers: { cookie, ...headers } })
    expect(code(await tried({ origin: 'http://evil.example' }))).toBe('origin')
    expect(code(await tried({ origin: 'null' }))).toBe('origin')
    expect(code(await tried({ 'sec-fetch-site': 'cross-site' }))).toBe('origin')
    expect(code(await tried({ 'sec-fetch-site': 'same-site' }))).toBe('origin')
    expect(core.state().holds).toEqual([])
    const own = {
      host: 'localhost:5',
      origin: 'http://localhost:5',
      'sec-fetch-site': 'same-origin',
    }
    expect((await tried(own)).status).toBe(204)
    expect(core.state().holds).toMatchObject([{ source: 'operator' }])
  })

  it('are JSON, and of bounded size', async () => {
    const { ask, cookie } = await loggedIn()
    const put = (headers: Record<string, string>, raw: string) =>
      ask('/api/v1/radios/3/hold', { method: 'PUT', headers: { cookie, ...headers }, raw })
    expect((await put({ 'content-type': 'text/plain' }, '{}')).status).toBe(415)
    const json = { 'content-type': 'application/json' }
    expect((await put(json, '{')).status).toBe(400)
    expect((await put(json, '{"surprise":1}')).status).toBe(400)
    expect((await put(json, `"${'x'.repeat(100_000)}"`)).status).toBe(413)
  })
})
