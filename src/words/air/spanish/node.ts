import type { node as english } from '../english/node.js'
import type { Translated } from '../texts.js'

export const node: Translated<typeof english> = {
  // What the node says of itself, and of messages that people leave
  noTime: 'Lo siento, no hubo tiempo de emision. Pregunta otra vez.',
  tooSlow: 'Lo siento, ahora tarda demasiado. Pregunta mas tarde.',
  othersWait: 'Otros esperan tambien. Pregunta otra vez en unos minutos.',
  tooMany: 'Demasiadas preguntas ahora. Prueba en {minutes} minutos.',
  oneWaits: '1 mensaje te espera aqui. Envia: collect',
  manyWait: '{count} mensajes te esperan aqui. Envia: collect',
  delivered: 'Tu mensaje a {call} fue entregado: {text}',
  refused: 'La radio de {call} rechazo tu mensaje: {text}',
  expired: 'Tu mensaje a {call} no se recogio a tiempo: {text}',
  noMessages: 'No hay mensajes para ti',
  noDirects: 'Directs= ninguna en la ultima hora',
}
