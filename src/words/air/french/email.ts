import type { email as english } from '../english/email.js'
import type { Translated } from '../texts.js'

export const email: Translated<typeof english> = {
  emailKept: 'Courriel a {to}: garde. Vous saurez quand il part.',
  emailOff: "Pas de courriel d'ici. Envoyez leave CALL TEXTE",
  emailNobody: '"{word}": ni adresse ni nom. Envoyez name NOM ADRESSE',
  emailWhat: 'Quel texte? Envoyez leave {to} TEXTE',
  emailSender: "Refuse: l'operateur ne vous permet pas le courriel.",
  emailReceiver: "Refuse: {to} n'est pas permis. Voyez l'operateur.",
  emailDay: 'Refuse: au plus {count} courriels par jour. A demain.',
  emailFull: 'Refuse: trop de courriels attendent. Reessayez plus tard.',
  emailLong: 'Refuse: trop long, au plus {most} octets par courriel.',
  emailOutOfOrder: "Refuse: courriel en panne. Prevenez l'operateur.",
  emailNameSet: 'Pour {to} envoyez: leave {name} TEXTE',
  emailNameGone: 'Le nom {name} est oublie.',
  emailNameUnknown: 'Nom inconnu. Envoyez name {name} ADRESSE',
  emailNameBad: '"{word}" ne va pas: 1 a 12 lettres, pas un indicatif.',
  emailNoNames: 'Aucun nom. Envoyez p.ex. name maman vous@example.org',
  emailNamesFull: 'Refuse: deja {count} noms. Envoyez name NOM off',
  emailSent: 'Votre courriel a {to} est parti: {text}',
  emailRefused: 'Votre courriel a {to} est refuse ({why}): {text}',
  emailExpired: "Votre courriel a {to} n'a pas eu de reseau: {text}",
  emailUnsure: 'Votre courriel a {to} est peut-etre parti: {text}',
  emailReturned: 'Votre courriel a {to} est revenu: {text}',
}
