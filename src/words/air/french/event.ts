import type { event as english } from '../english/event.js'
import type { Translated } from '../texts.js'

export const event: Translated<typeof english> = {
  eventNobodyHolds: "Personne n'est {name} en ce moment.",
  eventWhatText: 'Que dire a {to}? Envoyez leave {to} TEXT',
  eventNotKept: 'Pas garde: {reason}',
  eventNoSuchName: '"{word}": ni nom, ni liste, ni indicatif ici',
  eventTooMany: 'plus de {most} destinataires',
  eventTooLong: '{count} caracteres de trop, {most} au plus',
  eventOutOfOrder: 'la boite est en panne. Dites-le au responsable.',
  eventFull: 'trop de messages attendent. Reessayez plus tard.',
  eventKeptFor: "Garde pour {who}. Vous saurez quand il l'a.",
  eventKeptUntilHeld: 'Garde pour {name}, libre en ce moment. Vous saurez.',
  eventKeptForSeveral: "Garde pour {count}. Qui l'a: envoyez confirmed",
  eventNotFor: 'Pas garde, trop attendent, pour {names}',
  eventConfirmed: '{count} sur {total} ont "{text}"',
  eventOpen: 'Pas encore: {names}',
  eventRefused: 'Refuse: {names}',
  eventNothingSent: 'Aucun texte a plusieurs. Envoyez leave A,B TEXT',
  eventAllHave: "Les {count} l'ont: {text}",
  eventPresent: '{count} sur {total} entendus depuis {minutes}min.',
  eventMissing: 'Manquent: {names}',
  eventNever: 'jamais',
  eventNoNames: "Aucun nom n'est attribue.",
  eventOnlyDuring: "{keyword}: pendant l'evenement seulement.",
  eventNotNow: "Pas d'evenement en ce moment.",
  eventWithdrawn: 'Annule: {names}',
}
