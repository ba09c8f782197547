import type { NodeEvent } from '../store/events.js'
import { cookieName } from './access.js'
import { passwordIs } from './password.js'
import { Refusal } from './refusal.js'
import { type Route, route } from './route.js'
import { loginBody } from './schemas.js'
import { type Sessions, sessionS } from './sessions.js'
import type { Tries } from './tries.js'

export interface SessionParts {
  readonly sessions: Sessions
  readonly tries: Tries
  readonly passwordHash: string
  readonly note: (event: Omit<NodeEvent, 'atWallMs'>) => void
}

const path = '/api/v1/session'
const cookie = (value: string, ageS: number): string =>
  `${cookieName}=${value}; Path=/; HttpOnly; SameSite=Strict; Max-Age=${ageS}`

/** Logging in and out. */
export const sessionRoutes = (parts: SessionParts): readonly Route[] => [
  route({
    ...{ method: 'POST', path, right: 'none', body: loginBody },
    summary: 'logs in; five tries in 15 minutes an address',
    async handle({ body, visitor }) {
      const { passwordHash, tries, sessions, note } = parts
      if (passwordHash === '')
        throw new Refusal(403, 'no-password', 'No password is configured: see ridgepost password.')
      const verdict = await tries.take(visitor.machine, () =>
        passwordIs(body.password, passwordHash),
      )
      if (typeof verdict === 'object') {
        const waitS = verdict.ok ? 0 : verdict.waitS
        throw new Refusal(429, 'tries', `Too many tries: wait ${waitText(waitS)}.`, {
          'retry-after': String(waitS),
        })
      }
      if (!verdict) {
        note({ kind: 'control', text: 'a wrong password', reason: `on the page, ${visitor.who}` })
        throw new Refusal(401, 'password', 'This is not the password.')
      }
      note({ kind: 'control', text: 'logged in', reason: `on the page, ${visitor.who}` })
      return { status: 204, headers: { 'set-cookie': cookie(sessions.open(), sessionS) } }
    },
  }),
  route({
    ...{ method: 'DELETE', path, right: 'none', summary: 'logs out' },
    handle({ session = '' }) {
      parts.sessions.close(session)
      return { status: 204, headers: { 'set-cookie': cookie('', 0) } }
    },
  }),
]

const waitText = (seconds: number): string =>
  seconds < 90 ? `${seconds} s` : `${Math.ceil(seconds / 60)} minutes`
