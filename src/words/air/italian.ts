import type { AirTexts } from './texts.js'

export const italian: AirTexts = {
  hello: (call, heard) => `Ciao ${call}${heard}. Cosa so: invia help`,
  thanks: (call, heard) => `Prego, ${call}${heard}. 73`,
  cancelled: 'Annullato: non si invia piu nulla. Per chiedere: help',
  heardDirect: ', ricevuto diretto',
  heardDirectWith: (ebN0Db) => `, diretto, Eb/N0 ${ebN0Db} dB`,
  heardVia: (call) => `, ricevuto via ${call}`,
  absent: (keyword) => `Qui non c'e ${keyword}. Cosa c'e: invia help`,
  offer: (word, what) => `${word}? Invia ${what}.`,
  or: 'o',
  notKnown: (word, examples) =>
    `"${word}" non e noto qui.${examples === '' ? '' : ` Invia ${examples}.`}`,
  failed: (keyword) => `Spiacente, ${keyword} ora non funziona.`,
  next: (keyword) => `Poi: ${keyword}`,
  sendPosition: 'La tua posizione non e nota qui: inviane una.',
  askElsewhere: (call, age) => `Chiedi a ${call}, sentito ${age} fa.`,
}
