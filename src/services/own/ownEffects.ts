import { messageTextProblem } from '../../aprs/messageText.js'
import { parseAddress } from '../../ax25/address.js'
import { keptText } from '../airText.js'

const sendsMax = 5
const postsMax = 2

/** What a service wants sent and posted, gathered until its answer is kept. */
export function ownEffects() {
  const sends: { readonly call: string; readonly text: string }[] = []
  const posts: string[] = []
  return {
    sends,
    posts,
    /** @throws RangeError for what cannot be sent */
    send(call: unknown, text: unknown): void {
      const to = String(call).toUpperCase().replace(/-0$/, '')
      const address = parseAddress(to)
      if (!address.ok) throw new RangeError(`send: ${address.reason}`)
      if (sends.length >= sendsMax) throw new RangeError(`send: ${sendsMax} at a time`)
      sends.push({ call: to, text: checked('send', text) })
    },
    post(text: unknown): void {
      if (posts.length >= postsMax) throw new RangeError(`post: ${postsMax} at a time`)
      posts.push(checked('post', text))
    },
  }
}

function checked(what: string, given: unknown): string {
  const text = keptText(typeof given === 'string' ? given : '')
  const problem = text === '' ? 'there is no text' : messageTextProblem(text)
  if (problem !== undefined) throw new RangeError(`${what}: ${problem}`)
  return text
}
