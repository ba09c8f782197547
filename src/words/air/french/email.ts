import type { email as english } from '../english/email.js'
import type { Translated } from '../texts.js'

export const email: Translated<typeof english> = {
  emailKept: 'Courriel a {to}: garde. Je dirai son depart.',
  emailOff: "Pas de courriel d'ici. Envoyez leave CALL TEXT",
  emailNobody: '"{word}": ni adresse ni nom. Envoyez name NOM ADRESSE',
  emailWhat: 'Quel texte? Envoyez leave {to} TEXT',
  emailSender: "Non garde: l'exploitant ne vous permet pas de courriel.",
  emailReceiver: "Non garde: {to} n'est pas permis.",
  emailDay: 'Non garde: au plus {count} courriels par jour. A demain.',
  emailFull: 'Non garde: trop de courriels attendent. Reessayez plus tard.',
  emailLong: 'Non garde: trop long, au plus {most} octets par courriel.',
  emailOutOfOrder: "Non garde: courriel en panne. Prevenez l'exploitant.",
  emailNameSet: 'Pour {to} envoyez: leave {name} TEXT',
  emailNameGone: 'Le nom {name} est oublie.',
  emailNameUnknown: 'Nom inconnu. Envoyez name {name} ADRESSE',
  emailNameBad: '"{word}" ne va pas: 1 a 12 lettres, pas un indicatif.',
  emailNoNames: 'Aucun nom. Envoyez p.ex. name maman toi@example.org',
  emailNamesFull: 'Non garde: deja {count} noms. Envoyez name NOM off',
  emailSent: 'Votre courriel a {to} est parti: {text}',
  emailRefused: 'Votre courriel a {to} est refuse ({why}): {text}',
  emailExpired: "Votre courriel a {to} n'a pas eu de reseau: {text}",
  emailUnsure: 'Votre courriel a {to} est peut-etre parti: {text}',
  emailReturned: 'Votre courriel a {to} est revenu: {text}',
}
