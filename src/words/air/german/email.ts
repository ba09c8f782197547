import type { email as english } from '../english/email.js'
import type { Translated } from '../texts.js'

export const email: Translated<typeof english> = {
  emailKept: 'Mail an {to} wartet. Versand wird gemeldet.',
  emailOff: 'Von hier geht keine Mail hinaus. Sende leave CALL TEXT',
  emailNobody: '"{word}": keine Adresse, kein Name. Sende name NAME ADRESSE',
  emailWhat: 'Welcher Text? Sende leave {to} TEXT',
  emailSender: 'Nicht hinterlegt: der Betreiber erlaubt dir keine Mail.',
  emailReceiver: 'Keine Mail an {to} erlaubt. Frag den Betreiber.',
  emailDay: 'Nicht hinterlegt: hoechstens {count} Mails am Tag. Morgen wieder.',
  emailFull: 'Nicht hinterlegt: zu viele Mails warten auf Netz. Spaeter wieder.',
  emailLong: 'Nicht hinterlegt: zu lang, hoechstens {most} Oktette je Mail.',
  emailOutOfOrder: 'Nicht hinterlegt: Mail ist gestoert. Sag es dem Betreiber.',
  emailNameSet: 'Fuer {to} sende nun: leave {name} TEXT',
  emailNameGone: 'Der Name {name} ist vergessen.',
  emailNameUnknown: 'Unbekannt. Sende name {name} ADRESSE',
  emailNameBad: '"{word}" geht nicht: 1 bis 12 Buchstaben, kein Rufzeichen.',
  emailNoNames: 'Noch kein Name. Sende z.B. name mama du@example.org',
  emailNamesFull: 'Nicht hinterlegt: {count} Namen sind da. Sende name NAME off',
  emailSent: 'Deine Mail an {to} ging hinaus: {text}',
  emailRefused: 'Deine Mail an {to} wurde abgelehnt ({why}): {text}',
  emailExpired: 'Deine Mail an {to} fand kein Netz: {text}',
  emailUnsure: 'Deine Mail an {to} ging vielleicht hinaus: {text}',
  emailReturned: 'Deine Mail an {to} kam zurueck: {text}',
}
