import type { email as english } from '../english/email.js'
import type { Translated } from '../texts.js'

export const email: Translated<typeof english> = {
  emailKept: 'Mail a {to}: attende la rete. Diro quando parte.',
  emailOff: 'Da qui non parte posta. Invia leave CALL TEXT',
  emailNobody: '"{word}": ne indirizzo ne nome. Invia name NOME INDIRIZZO',
  emailWhat: 'Quale testo? Invia leave {to} TEXT',
  emailSender: "Non tenuto: l'operatore non ti permette la posta.",
  emailReceiver: 'Non tenuto: a {to} non va posta.',
  emailDay: 'Non tenuto: al massimo {count} mail al giorno. A domani.',
  emailFull: 'Non tenuto: troppe mail attendono. Riprova piu tardi.',
  emailLong: 'Non tenuto: troppo lungo, al massimo {most} ottetti per mail.',
  emailOutOfOrder: "Non tenuto: la posta non va. Avvisa l'operatore.",
  emailNameSet: 'Per {to} invia ora: leave {name} TEXT',
  emailNameGone: 'Il nome {name} e dimenticato.',
  emailNameUnknown: 'Nome ignoto. Invia name {name} INDIRIZZO',
  emailNameBad: '"{word}" non va: da 1 a 12 lettere, non un nominativo.',
  emailNoNames: 'Nessun nome. Invia p.es. name mamma tu@example.org',
  emailNamesFull: 'Non tenuto: ci sono {count} nomi. Invia name NOME off',
  emailSent: 'La tua mail a {to} e partita: {text}',
  emailRefused: 'La tua mail a {to} e rifiutata ({why}): {text}',
  emailExpired: 'La tua mail a {to} non ha avuto rete: {text}',
  emailUnsure: 'La tua mail a {to} forse e partita: {text}',
  emailReturned: 'La tua mail a {to} e tornata: {text}',
}
