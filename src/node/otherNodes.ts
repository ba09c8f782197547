import { standardWordings } from '../words/air/all.js'
import type { ConnectedNeeds } from './connected/connectedMode.js'
import type { Conversing } from './conversing.js'
import type { EmailLink } from './email/email.js'
import type { EmailNeeds } from './email/emailParts.js'
import type { HeardBulletins } from './heardBulletins.js'
import type { HillNeeds, Hills } from './hills/hills.js'
import type { MailParts } from './mailParts.js'
import type { NodeParts } from './serviceNode.js'

/** The exchange with other nodes and with addresses outside, where it is configured: it is made once the mailbox is there, which asks it what came from elsewhere. */
export interface OtherNodes {
  readonly hills: Hills | undefined
  readonly email: EmailLink | undefined
  /** what the mailbox asks and tells; absent where nothing of it is configured */
  readonly told: Pick<MailParts, 'isFromElsewhere' | 'emailEnded' | 'withdrawElsewhere'>
  begin(common: Shared, conversing: Conversing, bulletins: HeardBulletins): void
  /** Another node that connects gets a session of its own, within its share of the time. */
  sessions(): Pick<ConnectedNeeds, 'sessionFor' | 'meterFor'>
}

type Shared = Omit<
  HillNeeds,
  'nextId' | 'ports' | 'nodeOptions' | 'outbox' | 'tellSoon' | 'tellNews'
>

export function otherNodes(parts: NodeParts): OtherNodes {
  let hills: Hills | undefined
  let email: EmailLink | undefined
  return {
    get hills() {
      return hills
    },
    get email() {
      return email
    },
    told: {
      isFromElsewhere: parts.hills && ((id) => hills?.isFromElsewhere(id) === true),
      withdrawElsewhere: parts.hills && ((id) => hills?.withdrawMessage(id) === true),
      emailEnded: parts.email && ((entry, state) => email?.entryEnded(entry, state)),
    },
    begin(common, conversing, bulletins) {
      hills = parts.hills?.(hillNeeds(parts, common, conversing, bulletins))
      email = parts.email?.(emailNeeds(parts, common, conversing))
    },
    sessions: () =>
      hills === undefined
        ? {}
        : {
            sessionFor: (call) => hills?.sessionFor(call),
            meterFor: (call) => hills?.meterFor(call),
          },
  }
}

/** What the exchange with other nodes needs of this one. */
const hillNeeds = (
  { nextId, ports, options }: NodeParts,
  common: Shared,
  { mail, outbox }: Conversing,
  bulletins: HeardBulletins,
): HillNeeds => ({
  ...{ ...common, nextId, ports, nodeOptions: options, outbox },
  tellSoon: mail.tellSoon,
  tellNews(node, number, text) {
    const addressee = `BLN${number}`
    const id = String(number)
    bulletins.take({
      ...{
        from: node,
        payload: { kind: 'bulletin', bulletinKind: 'bulletin', addressee, id, text },
      },
    })
  },
})

const emailNeeds = (
  { nextId, options, wordings = standardWordings }: NodeParts,
  { clock, clockTrust, store, note, newNumber, radioFor }: Shared,
  { outbox, mail }: Conversing,
): EmailNeeds => ({
  ...{
    clock,
    clockTrust,
    store,
    note,
    nextId,
    newNumber,
    radioFor,
    nodeOptions: options,
    wordings,
  },
  send: (messages) => outbox.add(messages),
  somethingWaitsFor: mail.tellSoon,
})
