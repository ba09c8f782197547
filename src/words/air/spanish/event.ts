import type { event as english } from '../english/event.js'
import type { Translated } from '../texts.js'

export const event: Translated<typeof english> = {
  eventNobodyHolds: 'Nadie es {name} ahora.',
  eventWhatText: 'Que decir a {to}? Envia leave {to} TEXT',
  eventNotKept: 'No guardado: {reason}',
  eventNoSuchName: '"{word}" no es nombre, lista ni indicativo',
  eventTooMany: 'mas de {most} destinatarios',
  eventTooLong: 'sobran {count} caracteres, maximo {most}',
  eventOutOfOrder: 'el buzon no funciona. Avisa al operador.',
  eventFull: 'ya esperan demasiados. Prueba mas tarde.',
  eventKeptFor: 'Guardado para {who}. Sabras cuando lo tenga.',
  eventKeptUntilHeld: 'Guardado para {name}, ahora libre. Lo sabras.',
  eventKeptForSeveral: 'Guardado para {count}. Quien lo tiene: envia confirmed',
  eventNotFor: 'No guardado, esperan demasiados, para {names}',
  eventConfirmed: '{count} de {total} tienen "{text}"',
  eventOpen: 'Aun no: {names}',
  eventRefused: 'Rechazado: {names}',
  eventNothingSent: 'Ningun texto a varios. Envia leave A,B TEXT',
  eventAllHave: 'Los {count} lo tienen: {text}',
  eventPresent: '{count} de {total} oidos en los ultimos {minutes}min.',
  eventMissing: 'Faltan: {names}',
  eventNever: 'nunca',
  eventNoNames: 'No hay nombres asignados.',
  eventOnlyDuring: '{keyword}: solo durante el evento.',
  eventNotNow: 'Ahora no hay evento.',
  eventWithdrawn: 'Retirado: {names}',
}
