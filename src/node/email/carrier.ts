/** A mail as it is to be sent: each field is free of line ends, and has been looked at. */
export interface OutgoingMail {
  readonly from: string
  /** a display name, of letters, digits, blanks and hyphens only */
  readonly fromName: string
  readonly to: string
  readonly subject: string
  /** with its angle brackets */
  readonly messageId: string
  readonly inReplyTo: string | undefined
  /** undefined while the clock is not trusted: the server that takes the mail may add one (RFC 6409, 8.2) */
  readonly dateWallMs: number | undefined
  /** written by the node, not by a person: to be answered by no machine (RFC 3834) */
  readonly automatic: boolean
  /** lines end with a line feed */
  readonly text: string
}

/** What became of one try. Replies are the server's, as one line. */
export type Submitted =
  | { readonly kind: 'accepted'; readonly reply: string }
  /** for good (5xx), this mail. @param code as the server gave it */
  | { readonly kind: 'refused'; readonly code: number; readonly reply: string }
  /** for now (4xx), this mail */
  | { readonly kind: 'later'; readonly reply: string }
  /** the link broke after all of it was handed over, and before a reply: the server has it, or has not */
  | { readonly kind: 'unsure'; readonly reason: string }
  /** no server, or one that lets nobody in: the mail is not at fault */
  | { readonly kind: 'no-link'; readonly reason: string }

export type Submit = (mail: OutgoingMail) => Promise<Submitted>

/** A mail that came in, as far as it matters here. */
export interface IncomingMail {
  /** with its angle brackets; undefined where it has none */
  readonly messageId: string | undefined
  /** Message-IDs that it answers or names, with their brackets */
  readonly references: readonly string[]
  readonly from: string
  /** all receivers, and where it was delivered to */
  readonly to: readonly string[]
  readonly subject: string
  /** its plain text; '' for none */
  readonly text: string
  /** written by a machine: nothing answers it, and nobody is told of it */
  readonly automatic: boolean
  /** a notice that a mail could not be delivered: Message-IDs that stand in it */
  readonly returned: readonly string[]
}

/** 'later' leaves it where it is, for another look. */
export type Taken =
  | { readonly kind: 'taken'; readonly what: string }
  | { readonly kind: 'refused'; readonly reason: string }
  | { readonly kind: 'later'; readonly reason: string }

/** Where mail comes in. Looks once: each mail that lies there is given to `take`, and put away unless that says 'later'. */
export type LookForMail = (take: (mail: IncomingMail, key: string) => Taken) => Promise<void>
