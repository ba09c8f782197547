import type { email as english } from '../english/email.js'
import type { Translated } from '../texts.js'

export const email: Translated<typeof english> = {
  emailKept: 'Correo a {to} guardado. Se te avisa cuando salga.',
  emailOff: 'De aqui no sale correo. Envia leave CALL TEXTO',
  emailNobody: '"{word}": ni correo ni nombre. Envia name NOMBRE DIRECCION',
  emailWhat: 'Que texto? Envia leave {to} TEXTO',
  emailSender: 'No guardado: el operador no te permite correo.',
  emailReceiver: 'No guardado: a {to} no se permite correo.',
  emailDay: 'No guardado: como mucho {count} correos al dia. Prueba manana.',
  emailFull: 'No guardado: esperan demasiados correos. Prueba luego.',
  emailLong: 'No guardado: muy largo, como mucho {most} octetos por correo.',
  emailOutOfOrder: 'No guardado: el correo no funciona. Avisa al operador.',
  emailNameSet: 'Para {to} envia ahora: leave {name} TEXTO',
  emailNameGone: 'El nombre {name} queda olvidado.',
  emailNameUnknown: 'Nombre desconocido. Envia name {name} DIRECCION',
  emailNameBad: '"{word}" no vale: de 1 a 12 letras, no un indicativo.',
  emailNoNames: 'Ningun nombre. Envia p.ej. name mama tu@example.org',
  emailNamesFull: 'No guardado: hay {count} nombres. Envia name NOMBRE off',
  emailSent: 'Tu correo a {to} ha salido: {text}',
  emailRefused: 'Tu correo a {to} fue rechazado ({why}): {text}',
  emailExpired: 'Tu correo a {to} no tuvo enlace: {text}',
  emailUnsure: 'Tu correo a {to} quizas salio: {text}',
  emailReturned: 'Tu correo a {to} ha vuelto: {text}',
}
