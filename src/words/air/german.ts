import type { AirTexts } from './texts.js'

export const german: AirTexts = {
  hello: (call, heard) => `Hallo ${call}${heard}. Was ich kann: sende help`,
  thanks: (call, heard) => `Gern geschehen, ${call}${heard}. 73`,
  cancelled: 'Abgebrochen: es wird nichts mehr gesendet. Neu fragen: help',
  heardDirect: ', direkt empfangen',
  heardDirectWith: (ebN0Db) => `, direkt, Eb/N0 ${ebN0Db} dB`,
  heardVia: (call) => `, empfangen via ${call}`,
  absent: (keyword) => `${keyword} gibt es hier nicht. Was es gibt: sende help`,
  offer: (word, what) => `${word}? Sende ${what}.`,
  or: 'oder',
  notKnown: (word, examples) =>
    `"${word}" kenne ich nicht.${examples === '' ? '' : ` Sende ${examples}.`}`,
  failed: (keyword) => `${keyword} geht hier gerade leider nicht.`,
  next: (keyword) => `Dann: ${keyword}`,
  sendPosition: 'Deine Position ist hier nicht bekannt: sende eine.',
  askElsewhere: (call, age) => `Frage ${call}, gehoert vor ${age}.`,
}
