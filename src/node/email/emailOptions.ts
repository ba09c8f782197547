/** How mail goes out and comes in. Addresses and calls as `addressIsListed` and `callIsListed` read them; '*' is all. */
export interface EmailOptions {
  /** the station's own address */
  readonly from: string
  /** calls that may send */
  readonly senders: readonly string[]
  readonly receivers: readonly string[]
  /** the operator's names for addresses, in lower case */
  readonly names: Readonly<Record<string, string>>
  readonly namesPerSender: number
  readonly namesTotal: number
  readonly perSenderDay: number
  readonly perDay: number
  readonly waitingMax: number
  readonly textOctets: number
  readonly keepMs: number
  /** wait after the first try in vain; each later one is twice as long */
  readonly retryMs: number
  readonly retryMaxMs: number
  readonly footer: string
  readonly inbox: {
    /** mail is taken at all */
    readonly isOpen: boolean
    readonly senders: readonly string[]
    readonly answers: boolean
    readonly messagesMax: number
    readonly lookMs: number
  }
}
