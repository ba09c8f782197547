import type { AirTexts } from '../texts.js'
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

/** The order of words was gone through by a second reader, not the one who wrote it. Accents are left out. */
export const french: AirTexts = {
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
}
