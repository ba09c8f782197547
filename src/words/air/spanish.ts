import type { AirTexts } from './texts.js'

export const spanish: AirTexts = {
  hello: (call, heard) => `Hola ${call}${heard}. Lo que se: envia help`,
  thanks: (call, heard) => `De nada, ${call}${heard}. 73`,
  cancelled: 'Cancelado: no se envia nada mas. Para preguntar: help',
  heardDirect: ', oido en directo',
  heardDirectWith: (ebN0Db) => `, en directo, Eb/N0 ${ebN0Db} dB`,
  heardVia: (call) => `, oido via ${call}`,
  absent: (keyword) => `Aqui no hay ${keyword}. Lo que hay: envia help`,
  offer: (word, what) => `${word}? Envia ${what}.`,
  or: 'o',
  notKnown: (word, examples) =>
    `"${word}" no se conoce aqui.${examples === '' ? '' : ` Envia ${examples}.`}`,
  failed: (keyword) => `Lo siento, ${keyword} no funciona ahora.`,
  next: (keyword) => `Luego: ${keyword}`,
  sendPosition: 'Tu posicion no se conoce aqui: envia una.',
  askElsewhere: (call, age) => `Pregunta a ${call}, oido hace ${age}.`,
}
