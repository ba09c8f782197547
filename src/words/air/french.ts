import type { AirTexts } from './texts.js'

export const french: AirTexts = {
  hello: (call, heard) => `Bonjour ${call}${heard}. Ce que je sais: help`,
  thanks: (call, heard) => `Je vous en prie, ${call}${heard}. 73`,
  cancelled: 'Annule: plus rien ne sera envoye. Pour redemander: help',
  heardDirect: ', recu en direct',
  heardDirectWith: (ebN0Db) => `, en direct, Eb/N0 ${ebN0Db} dB`,
  heardVia: (call) => `, recu via ${call}`,
  absent: (keyword) => `Pas de ${keyword} ici. Ce qu'il y a: envoyez help`,
  offer: (word, what) => `${word}? Envoyez ${what}.`,
  or: 'ou',
  notKnown: (word, examples) =>
    `"${word}" est inconnu ici.${examples === '' ? '' : ` Envoyez ${examples}.`}`,
  failed: (keyword) => `Desole, ${keyword} ne marche pas en ce moment.`,
  next: (keyword) => `Ensuite: ${keyword}`,
  sendPosition: "Votre position n'est pas connue ici: envoyez-la.",
  askElsewhere: (call, age) => `Demandez a ${call}, recu il y a ${age}.`,
}
