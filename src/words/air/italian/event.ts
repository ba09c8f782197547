import type { event as english } from '../english/event.js'
import type { Translated } from '../texts.js'

export const event: Translated<typeof english> = {
  eventNobodyHolds: 'Nessuno e {name} adesso.',
  eventWhatText: 'Cosa dire a {to}? Invia leave {to} TEXT',
  eventNotKept: 'Non tenuto: {reason}',
  eventNoSuchName: '"{word}" non e nome, lista o nominativo',
  eventTooMany: 'piu di {most} destinatari',
  eventTooLong: '{count} caratteri di troppo, al massimo {most}',
  eventOutOfOrder: "la casella e guasta. Dillo all'operatore.",
  eventFull: 'ne aspettano gia troppi. Riprova piu tardi.',
  eventKeptFor: 'Tenuto per {who}. Saprai quando lo ha.',
  eventKeptUntilHeld: 'Tenuto per {name}, ora libero. Lo saprai.',
  eventKeptForSeveral: 'Tenuto per {count}. Chi lo ha: invia confirmed',
  eventNotFor: 'Non tenuto, troppi in attesa, per {names}',
  eventConfirmed: '{count} su {total} hanno "{text}"',
  eventOpen: 'Non ancora: {names}',
  eventRefused: 'Rifiutato: {names}',
  eventNothingSent: 'Nessun testo a piu stazioni. Invia leave A,B TEXT',
  eventAllHave: 'Tutti e {count} lo hanno: {text}',
  eventPresent: '{count} su {total} sentiti negli ultimi {minutes}min.',
  eventMissing: 'Mancano: {names}',
  eventNever: 'mai',
  eventNoNames: 'Nessun nome assegnato.',
  eventOnlyDuring: "{keyword}: solo durante l'evento.",
  eventNotNow: "Adesso non c'e un evento.",
  eventWithdrawn: 'Annullato: {names}',
}
