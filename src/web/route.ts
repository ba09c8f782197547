import type { ServerResponse } from 'node:http'
import type { z } from 'zod'
import type { Right, Visitor } from './access.js'
import type { Feed } from './feed.js'
import type { PageParts } from './parts.js'

/** What a route is given. */
export interface Call<Query = unknown, Body = unknown> {
  readonly parts: PageParts
  readonly feed: Feed
  readonly visitor: Visitor
  readonly canLogIn: boolean
  /** the parts of the path in braces */
  readonly at: Readonly<Record<string, string>>
  /** the session's cookie, and where a stream that broke off goes on */
  readonly session: string | undefined
  readonly lastEventId: string | undefined
  readonly query: Query
  readonly body: Body
}

/** What a route gives: a value for JSON, text of another type, or nothing. */
export type Reply =
  | { readonly json: unknown }
  | { readonly text: string | Uint8Array; readonly type: string; readonly fileName?: string }
  | { readonly status: 204; readonly headers?: Readonly<Record<string, string>> }
  | { readonly status: 503; readonly json: unknown }
  /** goes on writing by itself */
  | { readonly stream: (response: ServerResponse) => void; readonly type: string }

export interface Route {
  readonly method: 'GET' | 'POST' | 'PUT' | 'DELETE'
  /** '/api/v1/stations/{call}' */
  readonly path: string
  readonly right: Right
  readonly summary: string
  readonly query?: z.ZodType
  readonly body?: z.ZodType
  /** of the JSON that it gives; without this and `type` it gives nothing (204) */
  readonly response?: z.ZodType
  /** of what else it gives */
  readonly type?: string
  /** of the JSON that it gives with status 503, where it has one */
  readonly unwell?: z.ZodType
  readonly handle: (call: Call) => Reply | Promise<Reply>
}

/** Types of query and body are those of the schemas. */
export function route<Query extends z.ZodType, Body extends z.ZodType>(
  made: Omit<Route, 'handle' | 'query' | 'body'> & {
    readonly query?: Query
    readonly body?: Body
    readonly handle: (call: Call<z.output<Query>, z.output<Body>>) => Reply | Promise<Reply>
  },
): Route {
  return made as unknown as Route
}
