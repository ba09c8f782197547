import type { node as english } from '../english/node.js'
import type { Translated } from '../texts.js'

export const node: Translated<typeof english> = {
  // What the node says of itself, and of messages that people leave
  noTime: "Spiacente, non c'era tempo per trasmettere. Chiedi di nuovo.",
  tooSlow: 'Spiacente, ora ci vuole troppo. Chiedi piu tardi.',
  othersWait: 'Anche altri aspettano. Chiedi di nuovo tra qualche minuto.',
  tooMany: 'Troppe domande ora. Riprova tra {minutes} minuti.',
  oneWaits: '1 messaggio ti aspetta qui. Invia: collect',
  manyWait: '{count} messaggi ti aspettano qui. Invia: collect',
  delivered: 'Consegnato il tuo messaggio a {call}: {text}',
  refused: 'La radio di {call} ha rifiutato il tuo messaggio: {text}',
  expired: 'Non ritirato in tempo il tuo messaggio a {call}: {text}',
  noMessages: 'Nessun messaggio per te',
  noDirects: "Directs= nessuna nell'ultima ora",
}
