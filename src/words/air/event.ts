import type { AirLanguage } from './texts.js'

/**
 * What is said of an event, in one language: plain ASCII, each in one message of 67 characters with the longest names and calls, but for
 * lists of names, which go on in the next.
 */
export interface EventTexts {
  readonly nobodyHolds: (name: string) => string
  readonly whatText: (to: string) => string
  /** a reason is one of those below */
  readonly notKept: (reason: string) => string
  readonly noSuchName: (word: string) => string
  readonly tooMany: (countMax: number) => string
  readonly tooLong: (excess: number, charactersMax: number) => string
  readonly outOfOrder: string
  readonly full: string
  readonly keptFor: (who: string) => string
  readonly keptUntilHeld: (name: string) => string
  readonly keptForSeveral: (count: number) => string
  readonly notFor: (names: string) => string
  /** what became of one text to several; a text is its beginning */
  readonly confirmed: (count: number, of: number, text: string) => string
  readonly open: (names: string) => string
  readonly refused: (names: string) => string
  readonly nothingSent: string
  /** the report when the last has it */
  readonly allHave: (count: number, text: string) => string
  readonly present: (count: number, of: number, minutes: number) => string
  readonly missing: (names: string) => string
  readonly never: string
  readonly noNames: string
  readonly onlyDuring: (keyword: string) => string
  readonly notNow: string
}

const english: EventTexts = {
  nobodyHolds: (name) => `Nobody holds ${name} now.`,
  whatText: (to) => `What should ${to} be told? Send leave ${to} TEXT`,
  notKept: (reason) => `Not kept: ${reason}`,
  noSuchName: (word) => `"${word}" is no name, list or call sign here`,
  tooMany: (countMax) => `more than ${countMax} receivers`,
  tooLong: (excess, charactersMax) => `${excess} characters too long, at most ${charactersMax}`,
  outOfOrder: 'the mailbox is out of order. Tell the operator.',
  full: 'too many wait already. Try again later.',
  keptFor: (who) => `Kept for ${who}. You are told when it has it.`,
  keptUntilHeld: (name) => `Kept for ${name}, whom nobody is now. You are told.`,
  keptForSeveral: (count) => `Kept for ${count}. Who has it: send confirmed`,
  notFor: (names) => `Not kept, too many wait, for ${names}`,
  confirmed: (count, of, text) => `${count} of ${of} have "${text}"`,
  open: (names) => `Not yet: ${names}`,
  refused: (names) => `Refused: ${names}`,
  nothingSent: 'You left no text for several. Send leave A,B TEXT',
  allHave: (count, text) => `All ${count} have it: ${text}`,
  present: (count, of, minutes) => `${count} of ${of} heard in the last ${minutes}min.`,
  missing: (names) => `Missing: ${names}`,
  never: 'never',
  noNames: 'No tactical names are given.',
  onlyDuring: (keyword) => `${keyword} is answered during the event only.`,
  notNow: 'No event is on now.',
}

const german: EventTexts = {
  nobodyHolds: (name) => `${name} hat jetzt niemand.`,
  whatText: (to) => `Was soll ${to} erfahren? Sende leave ${to} TEXT`,
  notKept: (reason) => `Nicht hinterlegt: ${reason}`,
  noSuchName: (word) => `"${word}": kein Name, Liste oder Rufzeichen`,
  tooMany: (countMax) => `mehr als ${countMax} Empfaenger`,
  tooLong: (excess, charactersMax) => `${excess} Zeichen zu lang, hoechstens ${charactersMax}`,
  outOfOrder: 'das Postfach ist gestoert. Sag es dem Betreiber.',
  full: 'es warten schon zu viele. Spaeter nochmal.',
  keptFor: (who) => `Hinterlegt fuer ${who}. Du hoerst, wenn es da ist.`,
  keptUntilHeld: (name) => `Hinterlegt fuer ${name}, jetzt unbesetzt. Du hoerst es.`,
  keptForSeveral: (count) => `Hinterlegt fuer ${count}. Wer es hat: sende confirmed`,
  notFor: (names) => `Nicht hinterlegt, zu viele warten, fuer ${names}`,
  confirmed: (count, of, text) => `${count} von ${of} haben "${text}"`,
  open: (names) => `Noch nicht: ${names}`,
  refused: (names) => `Abgelehnt: ${names}`,
  nothingSent: 'Kein Text an mehrere von dir. Sende leave A,B TEXT',
  allHave: (count, text) => `Alle ${count} haben es: ${text}`,
  present: (count, of, minutes) => `${count} von ${of} gehoert in den letzten ${minutes}min.`,
  missing: (names) => `Es fehlen: ${names}`,
  never: 'nie',
  noNames: 'Es sind keine Namen vergeben.',
  onlyDuring: (keyword) => `${keyword} gibt es nur waehrend der Veranstaltung.`,
  notNow: 'Gerade ist keine Veranstaltung.',
}

const french: EventTexts = {
  nobodyHolds: (name) => `Personne n'est ${name} en ce moment.`,
  whatText: (to) => `Que dire a ${to}? Envoyez leave ${to} TEXT`,
  notKept: (reason) => `Pas garde: ${reason}`,
  noSuchName: (word) => `"${word}": ni nom, ni liste, ni indicatif ici`,
  tooMany: (countMax) => `plus de ${countMax} destinataires`,
  tooLong: (excess, charactersMax) => `${excess} caracteres de trop, ${charactersMax} au plus`,
  outOfOrder: 'la boite est en panne. Dites-le au responsable.',
  full: 'trop de messages attendent. Reessayez plus tard.',
  keptFor: (who) => `Garde pour ${who}. Vous saurez quand il l'a.`,
  keptUntilHeld: (name) => `Garde pour ${name}, libre en ce moment. Vous saurez.`,
  keptForSeveral: (count) => `Garde pour ${count}. Qui l'a: envoyez confirmed`,
  notFor: (names) => `Pas garde, trop attendent, pour ${names}`,
  confirmed: (count, of, text) => `${count} sur ${of} ont "${text}"`,
  open: (names) => `Pas encore: ${names}`,
  refused: (names) => `Refuse: ${names}`,
  nothingSent: 'Aucun texte a plusieurs. Envoyez leave A,B TEXT',
  allHave: (count, text) => `Les ${count} l'ont: ${text}`,
  present: (count, of, minutes) => `${count} sur ${of} entendus depuis ${minutes}min.`,
  missing: (names) => `Manquent: ${names}`,
  never: 'jamais',
  noNames: "Aucun nom n'est attribue.",
  onlyDuring: (keyword) => `${keyword}: pendant l'evenement seulement.`,
  notNow: "Pas d'evenement en ce moment.",
}

const spanish: EventTexts = {
  nobodyHolds: (name) => `Nadie es ${name} ahora.`,
  whatText: (to) => `Que decir a ${to}? Envia leave ${to} TEXT`,
  notKept: (reason) => `No guardado: ${reason}`,
  noSuchName: (word) => `"${word}" no es nombre, lista ni indicativo`,
  tooMany: (countMax) => `mas de ${countMax} destinatarios`,
  tooLong: (excess, charactersMax) => `sobran ${excess} caracteres, maximo ${charactersMax}`,
  outOfOrder: 'el buzon no funciona. Avisa al operador.',
  full: 'ya esperan demasiados. Prueba mas tarde.',
  keptFor: (who) => `Guardado para ${who}. Sabras cuando lo tenga.`,
  keptUntilHeld: (name) => `Guardado para ${name}, ahora libre. Lo sabras.`,
  keptForSeveral: (count) => `Guardado para ${count}. Quien lo tiene: envia confirmed`,
  notFor: (names) => `No guardado, esperan demasiados, para ${names}`,
  confirmed: (count, of, text) => `${count} de ${of} tienen "${text}"`,
  open: (names) => `Aun no: ${names}`,
  refused: (names) => `Rechazado: ${names}`,
  nothingSent: 'Ningun texto a varios. Envia leave A,B TEXT',
  allHave: (count, text) => `Los ${count} lo tienen: ${text}`,
  present: (count, of, minutes) => `${count} de ${of} oidos en los ultimos ${minutes}min.`,
  missing: (names) => `Faltan: ${names}`,
  never: 'nunca',
  noNames: 'No hay nombres asignados.',
  onlyDuring: (keyword) => `${keyword}: solo durante el evento.`,
  notNow: 'Ahora no hay evento.',
}

const italian: EventTexts = {
  nobodyHolds: (name) => `Nessuno e ${name} adesso.`,
  whatText: (to) => `Cosa dire a ${to}? Invia leave ${to} TEXT`,
  notKept: (reason) => `Non tenuto: ${reason}`,
  noSuchName: (word) => `"${word}" non e nome, lista o nominativo`,
  tooMany: (countMax) => `piu di ${countMax} destinatari`,
  tooLong: (excess, charactersMax) => `${excess} caratteri di troppo, al massimo ${charactersMax}`,
  outOfOrder: "la casella e guasta. Dillo all'operatore.",
  full: 'ne aspettano gia troppi. Riprova piu tardi.',
  keptFor: (who) => `Tenuto per ${who}. Saprai quando lo ha.`,
  keptUntilHeld: (name) => `Tenuto per ${name}, ora libero. Lo saprai.`,
  keptForSeveral: (count) => `Tenuto per ${count}. Chi lo ha: invia confirmed`,
  notFor: (names) => `Non tenuto, troppi in attesa, per ${names}`,
  confirmed: (count, of, text) => `${count} su ${of} hanno "${text}"`,
  open: (names) => `Non ancora: ${names}`,
  refused: (names) => `Rifiutato: ${names}`,
  nothingSent: 'Nessun testo a piu stazioni. Invia leave A,B TEXT',
  allHave: (count, text) => `Tutti e ${count} lo hanno: ${text}`,
  present: (count, of, minutes) => `${count} su ${of} sentiti negli ultimi ${minutes}min.`,
  missing: (names) => `Mancano: ${names}`,
  never: 'mai',
  noNames: 'Nessun nome assegnato.',
  onlyDuring: (keyword) => `${keyword}: solo durante l'evento.`,
  notNow: "Adesso non c'e un evento.",
}

const texts: Readonly<Record<AirLanguage, EventTexts>> = {
  ...{ en: english, de: german, fr: french, es: spanish, it: italian },
}

/** English where no language is given, and in a language of the club's own that has no words for this. */
export const eventTextsOf = (language: string = 'en'): EventTexts =>
  (texts as Readonly<Record<string, EventTexts>>)[language] ?? english
