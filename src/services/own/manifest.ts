import type { Answer } from '../service.js'
import type { OwnManifest, OwnService } from './ownProtocol.js'

/** Checks what a file exports; says in words what is wrong with it. */
export function readManifest(
  exported: unknown,
):
  | { readonly ok: true; readonly manifest: OwnManifest; readonly service: OwnService }
  | { readonly ok: false; readonly reason: string } {
  const wrong = (reason: string) => ({ ok: false, reason }) as const
  if (typeof exported !== 'object' || exported === null)
    return wrong(
      'it exports no default, expected an object with keyword, summary, usage and answer',
    )
  const service = exported as OwnService
  const { keyword, summary, usage, messagesMax = 3, answer } = service
  if (typeof keyword !== 'string' || !/^[a-z]{3,12}$/.test(keyword))
    return wrong(`keyword: got ${JSON.stringify(keyword)}, expected 3 to 12 lower-case letters`)
  for (const [name, value] of Object.entries({ summary, usage }))
    if (typeof value !== 'string' || value === '' || value.length > 67)
      return wrong(`${name}: got ${JSON.stringify(value)}, expected a text of 1 to 67 characters`)
  if (!Number.isInteger(messagesMax) || messagesMax < 1 || messagesMax > 10)
    return wrong(`messagesMax: got ${JSON.stringify(messagesMax)}, expected 1 to 10`)
  if (typeof answer !== 'function') return wrong('answer: expected a function')
  return { ok: true, manifest: { keyword, summary, usage, messagesMax }, service }
}

/** An answer is a text or a list of texts. */
export function isAnswer(value: unknown): value is Answer {
  const isText = (one: unknown): boolean => typeof one === 'string' && one.length <= 5000
  return isText(value) || (Array.isArray(value) && value.length <= 100 && value.every(isText))
}
