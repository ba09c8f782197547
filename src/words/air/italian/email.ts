import type { email as english } from '../english/email.js'
import type { Translated } from '../texts.js'

export const email: Translated<typeof english> = {
  emailKept: 'Mail a {to} tenuta. Sarai avvisato quando parte.',
  emailOff: 'Da qui non partono mail. Invia leave CALL TESTO',
  emailNobody: '"{word}" non e indirizzo o nome. Invia name NOME INDIRIZZO',
  emailWhat: 'Quale testo? Invia leave {to} TESTO',
  emailSender: "Non tenuto: l'operatore non ti permette le mail.",
  emailReceiver: "Non tenuto: no mail a {to}. Chiedi all'operatore.",
  emailDay: 'Non tenuto: al massimo {count} mail al giorno. Riprova domani.',
  emailFull: 'Non tenuto: troppe mail attendono la rete. Riprova piu tardi.',
  emailLong: 'Non tenuto: troppo lungo, al massimo {most} ottetti per mail.',
  emailOutOfOrder: "Non tenuto: le mail non funzionano. Avvisa l'operatore.",
  emailNameSet: 'Per {to} invia ora: leave {name} TESTO',
  emailNameGone: 'Il nome {name} e cancellato.',
  emailNameUnknown: 'Nome ignoto. Invia name {name} INDIRIZZO',
  emailNameBad: '"{word}" non va: da 1 a 12 lettere, non un nominativo.',
  emailNoNames: 'Nessun nome tuo. Invia ad es. name mamma tu@example.org',
  emailNamesFull: 'Non tenuto: ci sono {count} nomi. Invia name NOME off',
  emailSent: 'La tua mail a {to} e partita: {text}',
  emailRefused: 'Rifiutata la tua mail a {to} ({why}): {text}',
  emailExpired: 'La tua mail a {to} non ha avuto rete: {text}',
  emailUnsure: 'La tua mail a {to} forse e partita: {text}',
  emailReturned: 'La tua mail a {to} e tornata: {text}',
}
