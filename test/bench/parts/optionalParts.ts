/** A part of the node that is off until it is configured. */
export interface OptionalPart {
  readonly name: string
  /** what turns it on, TOML */
  readonly config: string
  /** what is loaded for it alone */
  readonly files: RegExp
}

/** What digipeats, connects and hands on. The modes of KISS are few lines of the KISS end, which is on: they have no files of their own. */
export const optionalParts: readonly OptionalPart[] = [
  {
    name: 'digipeater',
    config: '[digipeater]\nenabled = true\n',
    files: /node\/digipeater\/|setup\/digipeaterOptions/,
  },
  {
    name: 'connected mode',
    config: '[connected]\nenabled = true\n',
    files: /node\/connected\/|ax25\/session\/|setup\/connectedOptions/,
  },
  {
    name: 'hills',
    config:
      '[connected]\nenabled = true\n[hills]\nenabled = true\n[[hills.neighbour]]\ncall = "Q1FAR-5"\n',
    files: /node\/hills\/|setup\/hillOptions/,
  },
  {
    name: 'mail',
    config:
      '[email]\nenabled = true\nfrom = "hill@example.org"\nsenders = ["*"]\nreceivers = ["*"]\n[email.server]\nhost = "127.0.0.1"\nport = 9\n[email.inbox]\nfolder = "maildir"\nsenders = ["*"]\n',
    files: /node\/email\/|links\/(smtp|maildir)|nodemailer|postal-mime|setup\/(open)?[eE]mail/,
  },
  {
    name: 'broker',
    config: '[broker]\nenabled = true\nhost = "127.0.0.1"\nport = 9\ntls = false\n',
    files: /node\/broker\/|links\/mqtt|node_modules\/mqtt|setup\/(open)?[bB]roker/,
  },
  {
    name: 'alerts',
    config:
      '[alerts]\nto = ["Q1ABC"]\n[[alerts.rule]]\nname = "van"\nwhen = "heard"\nstation = "Q2VAN-9"\n',
    files: /node\/alertRules|setup\/alerts/,
  },
]
