import type { node as english } from '../english/node.js'
import type { Translated } from '../texts.js'

export const node: Translated<typeof english> = {
  // What the node says of itself, and of messages that people leave
  noTime: "Desole, pas de temps d'antenne pour repondre. Redemandez svp.",
  tooSlow: 'Desole, cela prend trop de temps. Redemandez plus tard.',
  othersWait: "D'autres attendent aussi. Redemandez dans quelques minutes.",
  tooMany: 'Trop de questions a la fois. Reessayez dans {minutes} minutes.',
  oneWaits: '1 message vous attend ici. Envoyez: collect',
  manyWait: '{count} messages vous attendent ici. Envoyez: collect',
  delivered: 'Votre message a {call} a ete remis: {text}',
  refused: 'Votre message a {call} est refuse par sa radio: {text}',
  expired: 'Votre message a {call} pas retire a temps: {text}',
  noMessages: 'Pas de messages pour vous',
  noDirects: 'Directs= aucun depuis une heure',
}
