import type { node as english } from '../english/node.js'
import type { Translated } from '../texts.js'

export const node: Translated<typeof english> = {
  // What the node says of itself, and of messages that people leave
  noTime: 'Fuer die Antwort fehlte Sendezeit. Frag bitte noch einmal.',
  tooSlow: 'Das dauert gerade leider zu lange. Frag bitte spaeter noch einmal.',
  othersWait: 'Auch andere warten. Frag bitte in ein paar Minuten noch einmal.',
  tooMany: 'Gerade zu viele Fragen. Versuch es in {minutes} Minuten wieder.',
  oneWaits: '1 Nachricht wartet hier auf dich. Sende: collect',
  manyWait: '{count} Nachrichten warten hier auf dich. Sende: collect',
  delivered: 'Deine Nachricht an {call} ist angekommen: {text}',
  refused: 'Das Geraet von {call} lehnte deine Nachricht ab: {text}',
  expired: 'Nachricht an {call} nicht rechtzeitig geholt: {text}',
  noMessages: 'Keine Nachrichten fuer dich',
  noDirects: 'Directs= keine in der letzten Stunde',
}
