import { asking } from './asking.js'
import { connections } from './connections.js'
import { email } from './email.js'
import { event } from './event.js'
import { figures } from './figures.js'
import { mailbox } from './mailbox.js'
import { node } from './node.js'
import { operating } from './operating.js'
import { services } from './services.js'
import { sky } from './sky.js'
import { watches } from './watches.js'

/**
 * What the node says, in English, a subject a file. The names are those of all languages, and a text that another language lacks is
 * said in this one. What stands in braces is filled in: a fact that no translation may leave out. Plain ASCII, as it goes out.
 * Keywords stay English everywhere, for they are what people send.
 */
export const english = {
  ...figures,
  ...asking,
  ...services,
  ...sky,
  ...mailbox,
  ...node,
  ...connections,
  ...watches,
  ...email,
  ...event,
  ...operating,
} as const
