import type { IncomingMessage } from 'node:http'
import { isIP } from 'node:net'
import { createAllowList, isLoopback, machineOf, plainAddress } from '../kiss/allowList.js'
import { tokenHash } from './password.js'
import { Refusal } from './refusal.js'
import type { Sessions } from './sessions.js'

/** 'public': what was on the air; 'read': all but secrets; 'control': the operator's hand. Each has what is before it. */
const rights = ['none', 'public', 'read', 'control'] as const
export type Right = (typeof rights)[number]

/** Who asks, and what he may. */
export interface Visitor {
  readonly right: Right
  /** for the log: 'operator at 192.0.2.7', 'token dashboard' */
  readonly who: string
  /** for limits on tries: one household, one proxy or this machine */
  readonly machine: string
}

export interface AccessOptions {
  /** a Unix socket has no addresses: whoever comes through it is a proxy's client */
  readonly viaSocket: boolean
  readonly allow: readonly string[]
  readonly hosts: readonly string[]
  readonly isPublic: boolean
  readonly tokens: readonly {
    readonly name: string
    readonly sha256: string
    readonly scope: 'read' | 'control'
  }[]
  readonly sessions: Sessions
}

export interface Access {
  /** @throws Refusal for an address that may not connect, a foreign Host, or a change that another site wants */
  visitor(request: IncomingMessage): Visitor
}

export const cookieName = 'ridgepost'
const forwardedHeaders = [
  'forwarded',
  'via',
  'x-forwarded-for',
  'x-forwarded-host',
  'x-forwarded-proto',
  'x-real-ip',
]

export function createAccess(options: AccessOptions): Access {
  const allowList = createAllowList(options.allow, 'page.allow')
  const hosts = new Set(['localhost', ...options.hosts.map((host) => host.toLowerCase())])

  const checkHost = (request: IncomingMessage): void => {
    const name = hostName(request.headers.host ?? '')
    // A page that has its own name lead here (DNS rebinding) cannot send an address as Host.
    if (hosts.has(name) || isIP(name) !== 0) return
    throw new Refusal(
      403,
      'host',
      `This page is not "${name.slice(0, 80)}". Its names are in page.hosts of the configuration.`,
    )
  }

  const rightOf = (request: IncomingMessage, isLocal: boolean): readonly [Right, string] => {
    const bearer = /^Bearer ([\w-]{20,100})$/.exec(request.headers.authorization ?? '')?.[1]
    if (bearer !== undefined) {
      const sha256 = tokenHash(bearer)
      const token = options.tokens.find((one) => one.sha256 === sha256)
      if (token === undefined) throw new Refusal(401, 'token', 'This token is not known.')
      return [token.scope, `token ${token.name}`]
    }
    const cookie = sessionCookie(request)
    if (cookie !== undefined && options.sessions.isOpen(cookie)) return ['control', 'operator']
    if (isLocal) return ['read', 'somebody']
    return [options.isPublic ? 'public' : 'none', 'somebody']
  }

  return {
    visitor(request) {
      const address = plainAddress(request.socket.remoteAddress ?? '')
      const isForwarded = forwardedHeaders.some((name) => request.headers[name] !== undefined)
      if (!options.viaSocket && !allowList.allows(address))
        throw new Refusal(403, 'address', `${address} is not in page.allow.`)
      checkHost(request)
      const { method = 'GET' } = request
      if (method !== 'GET' && method !== 'HEAD') checkOrigin(request)
      const isLocal = !options.viaSocket && !isForwarded && isLoopback(address)
      const [right, name] = rightOf(request, isLocal)
      // Only a proxy of this machine is taken for one: whoever else says so gets no second set of tries.
      const isProxied = options.viaSocket || (isForwarded && isLoopback(address))
      const from = isLocal ? 'this machine' : isProxied ? 'a proxy' : address
      const machine = isProxied ? 'a proxy' : machineOf(address)
      return { right, who: `${name} at ${from}`, machine }
    },
  }
}

/** Browsers say from where a change is wanted; other programs say nothing, and have no cookie. */
function checkOrigin({ headers }: IncomingMessage): void {
  const site = headers['sec-fetch-site']
  const { origin, host = '' } = headers
  const isOwn = origin === undefined || origin === `http://${host}` || origin === `https://${host}`
  if (isOwn && (site === undefined || site === 'same-origin' || site === 'none')) return
  throw new Refusal(403, 'origin', 'Changes are taken only from this page itself.')
}

export function sessionCookie({ headers }: IncomingMessage): string | undefined {
  const cookies = (headers.cookie ?? '').split(';').map((cookie) => cookie.trim())
  return cookies.find((cookie) => cookie.startsWith(`${cookieName}=`))?.slice(cookieName.length + 1)
}

/** Without port and brackets, in lower case. */
function hostName(host: string): string {
  const lower = host.toLowerCase()
  const bracketed = /^\[([0-9a-f:.]+)\](:\d+)?$/.exec(lower)?.[1]
  return bracketed ?? lower.replace(/:\d+$/, '').replace(/\.$/, '')
}

export const mayDo = (right: Right, wanted: Right): boolean =>
  rights.indexOf(right) >= rights.indexOf(wanted)
