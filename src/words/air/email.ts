import type { AirLanguage } from './texts.js'

/** What is said about mail to and from addresses outside; what stands in braces is filled in. */
const english = {
  emailKept: 'Mail to {to} is kept. You are told when it went.',
  emailOff: 'No mail goes out from here. Send leave CALL TEXT',
  emailNobody: '"{word}" is no mail address or name. Send name NAME ADDRESS',
  emailWhat: 'What should {to} be told? Send leave {to} TEXT',
  emailSender: 'Not kept: the operator lets you send no mail.',
  emailReceiver: 'Not kept: no mail may go to {to}. Ask the operator.',
  emailDay: 'Not kept: at most {count} mails a day. Try again tomorrow.',
  emailFull: 'Not kept: too many mails wait for a link. Try again later.',
  emailLong: 'Not kept: too long, at most {most} octets go by mail.',
  emailOutOfOrder: 'Not kept: mail is out of order. Tell the operator.',
  emailNameSet: '{name} is {to} now. Send leave {name} TEXT',
  emailNameGone: 'The name {name} is forgotten.',
  emailNameUnknown: 'There is no name {name}. Send name {name} ADDRESS',
  emailNameBad: '"{word}" cannot be a name: 1 to 12 letters, no call sign.',
  emailNoNames: 'No names of yours. Send e.g. name mum you@example.org',
  emailNamesFull: 'Not kept: {count} names are kept. Send name NAME off',
  emailSent: 'Your mail to {to} went out: {text}',
  emailRefused: 'Your mail to {to} was refused ({why}): {text}',
  emailExpired: 'Your mail to {to} found no link in time: {text}',
  emailUnsure: 'Your mail to {to} went out, perhaps: {text}',
  emailReturned: 'Your mail to {to} came back: {text}',
}

export type EmailTextName = keyof typeof english
type EmailTexts = Readonly<Record<EmailTextName, string>>

const german: EmailTexts = {
  emailKept: 'Mail an {to} wartet. Du hoerst, wenn sie weg ist.',
  emailOff: 'Von hier geht keine Mail hinaus. Sende leave CALL TEXT',
  emailNobody: '"{word}": keine Adresse, kein Name. Sende name NAME ADRESSE',
  emailWhat: 'Was soll {to} erfahren? Sende leave {to} TEXT',
  emailSender: 'Nicht behalten: der Betreiber erlaubt dir keine Mail.',
  emailReceiver: 'Nicht behalten: an {to} darf nichts. Frage den Betreiber.',
  emailDay: 'Nicht behalten: hoechstens {count} am Tag. Morgen wieder.',
  emailFull: 'Nicht behalten: zu viele warten auf Netz. Spaeter wieder.',
  emailLong: 'Nicht behalten: zu lang, hoechstens {most} Oktette je Mail.',
  emailOutOfOrder: 'Nicht behalten: Mail ist gestoert. Sag es dem Betreiber.',
  emailNameSet: '{name} ist jetzt {to}. Sende leave {name} TEXT',
  emailNameGone: 'Der Name {name} ist vergessen.',
  emailNameUnknown: 'Name {name} unbekannt. Sende name {name} ADRESSE',
  emailNameBad: '"{word}" geht nicht: 1 bis 12 Buchstaben, kein Rufzeichen.',
  emailNoNames: 'Noch kein Name. Sende z.B. name mama du@example.org',
  emailNamesFull: 'Nicht behalten: {count} Namen sind da. Sende name NAME off',
  emailSent: 'Deine Mail an {to} ging hinaus: {text}',
  emailRefused: 'Deine Mail an {to} wurde abgelehnt ({why}): {text}',
  emailExpired: 'Deine Mail an {to} fand kein Netz: {text}',
  emailUnsure: 'Deine Mail an {to} ging vielleicht hinaus: {text}',
  emailReturned: 'Deine Mail an {to} kam zurueck: {text}',
}

const french: EmailTexts = {
  emailKept: 'Courriel a {to}: attend le reseau. Je dirai son depart.',
  emailOff: "Pas de courriel d'ici. Envoyez leave CALL TEXT",
  emailNobody: '"{word}": ni adresse ni nom. Envoyez name NOM ADRESSE',
  emailWhat: 'Que dire a {to}? Envoyez leave {to} TEXT',
  emailSender: "Non garde: l'exploitant ne vous permet pas de courriel.",
  emailReceiver: "Non garde: {to} n'est pas permis. Voyez l'exploitant.",
  emailDay: 'Non garde: au plus {count} courriels par jour. A demain.',
  emailFull: 'Non garde: trop de courriels attendent. Reessayez plus tard.',
  emailLong: 'Non garde: trop long, au plus {most} octets par courriel.',
  emailOutOfOrder: "Non garde: courriel en panne. Prevenez l'exploitant.",
  emailNameSet: '{name} est {to}. Envoyez leave {name} TEXT',
  emailNameGone: 'Le nom {name} est oublie.',
  emailNameUnknown: 'Pas de nom {name}. Envoyez name {name} ADRESSE',
  emailNameBad: '"{word}" ne va pas: 1 a 12 lettres, pas un indicatif.',
  emailNoNames: 'Aucun nom. Envoyez p.ex. name maman toi@example.org',
  emailNamesFull: 'Non garde: deja {count} noms. Envoyez name NOM off',
  emailSent: 'Votre courriel a {to} est parti: {text}',
  emailRefused: 'Votre courriel a {to} est refuse ({why}): {text}',
  emailExpired: "Votre courriel a {to} n'a pas eu de reseau: {text}",
  emailUnsure: 'Votre courriel a {to} est peut-etre parti: {text}',
  emailReturned: 'Votre courriel a {to} est revenu: {text}',
}

const spanish: EmailTexts = {
  emailKept: 'Correo a {to}: espera enlace. Le dire cuando salga.',
  emailOff: 'De aqui no sale correo. Envia leave CALL TEXT',
  emailNobody: '"{word}": ni direccion ni nombre. Envia name NOMBRE DIREC',
  emailWhat: 'Que se dice a {to}? Envia leave {to} TEXT',
  emailSender: 'No guardado: el operador no te permite correo.',
  emailReceiver: 'No guardado: a {to} no se permite. Pregunta al operador.',
  emailDay: 'No guardado: como mucho {count} correos al dia. Manana.',
  emailFull: 'No guardado: esperan demasiados correos. Prueba luego.',
  emailLong: 'No guardado: muy largo, como mucho {most} octetos por correo.',
  emailOutOfOrder: 'No guardado: el correo no funciona. Avisa al operador.',
  emailNameSet: '{name} es {to}. Envia leave {name} TEXT',
  emailNameGone: 'El nombre {name} queda olvidado.',
  emailNameUnknown: 'No hay nombre {name}. Envia name {name} DIRECCION',
  emailNameBad: '"{word}" no vale: de 1 a 12 letras, no un indicativo.',
  emailNoNames: 'Ningun nombre. Envia p.ej. name mama tu@example.org',
  emailNamesFull: 'No guardado: hay {count} nombres. Envia name NOMBRE off',
  emailSent: 'Tu correo a {to} ha salido: {text}',
  emailRefused: 'Tu correo a {to} fue rechazado ({why}): {text}',
  emailExpired: 'Tu correo a {to} no tuvo enlace: {text}',
  emailUnsure: 'Tu correo a {to} quizas salio: {text}',
  emailReturned: 'Tu correo a {to} ha vuelto: {text}',
}

const italian: EmailTexts = {
  emailKept: 'Mail a {to}: attende la rete. Diro quando parte.',
  emailOff: 'Da qui non parte posta. Invia leave CALL TEXT',
  emailNobody: '"{word}": ne indirizzo ne nome. Invia name NOME INDIRIZZO',
  emailWhat: 'Cosa dire a {to}? Invia leave {to} TEXT',
  emailSender: "Non tenuto: l'operatore non ti permette la posta.",
  emailReceiver: "Non tenuto: a {to} non si puo. Chiedi all'operatore.",
  emailDay: 'Non tenuto: al massimo {count} mail al giorno. A domani.',
  emailFull: 'Non tenuto: troppe mail attendono. Riprova piu tardi.',
  emailLong: 'Non tenuto: troppo lungo, al massimo {most} ottetti per mail.',
  emailOutOfOrder: "Non tenuto: la posta non va. Avvisa l'operatore.",
  emailNameSet: '{name} ora e {to}. Invia leave {name} TEXT',
  emailNameGone: 'Il nome {name} e dimenticato.',
  emailNameUnknown: 'Nessun nome {name}. Invia name {name} INDIRIZZO',
  emailNameBad: '"{word}" non va: da 1 a 12 lettere, non un nominativo.',
  emailNoNames: 'Nessun nome. Invia p.es. name mamma tu@example.org',
  emailNamesFull: 'Non tenuto: ci sono {count} nomi. Invia name NOME off',
  emailSent: 'La tua mail a {to} e partita: {text}',
  emailRefused: 'La tua mail a {to} e rifiutata ({why}): {text}',
  emailExpired: 'La tua mail a {to} non ha avuto rete: {text}',
  emailUnsure: 'La tua mail a {to} forse e partita: {text}',
  emailReturned: 'La tua mail a {to} e tornata: {text}',
}

const texts: Readonly<Record<AirLanguage, EmailTexts>> = {
  ...{ en: english, de: german, fr: french, es: spanish, it: italian },
}

/** English where no language is given. */
export const sayOfEmail = (
  language: string | undefined,
): ((name: EmailTextName, values?: Readonly<Record<string, string | number>>) => string) => {
  const own = (texts as Readonly<Record<string, EmailTexts>>)[language ?? 'en'] ?? english
  return (name, values = {}) =>
    own[name].replace(/\{(\w+)\}/g, (_, key: string) => String(values[key] ?? ''))
}
