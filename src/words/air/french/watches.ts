import type { watches as english } from '../english/watches.js'
import type { Translated } from '../texts.js'

export const watches: Translated<typeof english> = {
  usageBack: 'back HEURE CALL (ou: back off)',
  usageTell: 'tell CALL',
  summaryBack: "Veille de retour: CALL est prevenu si vous n'etes pas recu",
  summaryTell: 'Vous apprenez une fois que CALL est recu',
  backHow: 'Envoyez p.ex. back 18:00 N0CALL-7, ou back 3h N0CALL-7',
  backSet: 'Retour a {time} (dans {span}). Emettez des {from}, ou: back off',
  backElse: "Sinon prevenus: {who}. Ne remplace pas l'alerte",
  backNone: 'Aucune veille de vous en cours.',
  backStands: 'Retour {time}, encore {span}. Sinon prevenus: {who}',
  backOff: 'Votre veille est levee.',
  backNoClock: "Heure d'ici non verifiee: envoyez une duree: back 3h {call}",
  backSoon: 'Envoyez une heure, dans 10 minutes a 24 heures.',
  backNobody: 'Dites qui prevenir: back 18:00 CALL',
  backFull: "Refuse: trop de veilles ici. Prevenez quelqu'un vous-meme.",
  theOperator: 'operateur',
  andOperator: '{call} et operateur',
  overdue: '{call} est en retard: retour prevu {time}, recu {ago}.',
  overdueYou: 'En retard! Prevenus: {who}. Tout va bien? Dites-le',
  tellWho: 'De qui? Envoyez p.ex. tell N0CALL-7',
  tellNoCall: '"{word}" n\'est pas un indicatif. Envoyez tell CALL',
  tellSet: 'Vous saurez une fois quand {call} est recu, pendant {kept}.',
  tellFull: 'Refuse: {count} des votres sont deja en cours.',
  isHeard: '{call} est recu maintenant.',
  notHeardIn: '{call} pas recu en {kept}. Pour continuer: tell {call}',
}
