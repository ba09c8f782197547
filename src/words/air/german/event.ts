import type { event as english } from '../english/event.js'
import type { Translated } from '../texts.js'

export const event: Translated<typeof english> = {
  eventNobodyHolds: '{name} hat jetzt niemand.',
  eventWhatText: 'Was soll {to} erfahren? Sende leave {to} TEXT',
  eventNotKept: 'Nicht hinterlegt: {reason}',
  eventNoSuchName: '"{word}": kein Name, Liste oder Rufzeichen',
  eventTooMany: 'mehr als {most} Empfaenger',
  eventTooLong: '{count} Zeichen zu lang, hoechstens {most}',
  eventOutOfOrder: 'das Postfach ist gestoert. Sag es dem Betreiber.',
  eventFull: 'es warten schon zu viele. Spaeter nochmal.',
  eventKeptFor: 'Hinterlegt fuer {who}. Du hoerst, wenn es da ist.',
  eventKeptUntilHeld: 'Hinterlegt fuer {name}, jetzt unbesetzt. Du hoerst es.',
  eventKeptForSeveral: 'Hinterlegt fuer {count}. Wer es hat: sende confirmed',
  eventNotFor: 'Nicht hinterlegt, zu viele warten, fuer {names}',
  eventConfirmed: '{count} von {total} haben "{text}"',
  eventOpen: 'Noch nicht: {names}',
  eventRefused: 'Abgelehnt: {names}',
  eventNothingSent: 'Kein Text an mehrere von dir. Sende leave A,B TEXT',
  eventAllHave: 'Alle {count} haben es: {text}',
  eventPresent: '{count} von {total} gehoert in den letzten {minutes}min.',
  eventMissing: 'Es fehlen: {names}',
  eventNever: 'nie',
  eventNoNames: 'Es sind keine Namen vergeben.',
  eventOnlyDuring: '{keyword} gibt es nur waehrend der Veranstaltung.',
  eventNotNow: 'Gerade ist keine Veranstaltung.',
  eventWithdrawn: 'Zurueckgenommen: {names}',
}
