import type { operating as english } from '../english/operating.js'
import type { Translated } from '../texts.js'

export const operating: Translated<typeof english> = {
  // Control by radio, in its own words of state
  controlNoCode: 'Envoyez {usual} CODE, avec le code suivant de la liste.',
  controlNot: 'Pas fait: {reason}.',
  controlNoEvent: "pas d'evenement configure",
  controlHeld: '{name} est {call} maintenant.',
  controlNobody: 'personne',
  controlReleased: 'Libere.',
  controlReleasedLost: 'Libere, mais un redemarrage bloque a nouveau: disque en panne.',
  controlHolding: 'Bloque {until}, dans quelques secondes.',
  controlHoldingLost: 'Bloque {until}, perdu au redemarrage.',
  controlUntilReleased: "jusqu'a liberation",
  controlFor: 'pour {span}',
  controlSend: 'Envoyez {usage}',
  controlShown: "(montre seulement: un code n'est pas essaye ici)",
  stateDuty: "temps d'emission {percent}%",
  stateWaiting: '{count} en attente',
  stateDeaf: 'pas de reception',
  codeNotEnrolled: "cet indicatif n'est pas inscrit",
  codeTries: 'trop de codes faux: hold seulement',
  codeDisk: 'le disque ne prend pas le compteur',
  codeWrong: 'le code est faux, ou a deja servi',
  nameBad: '"{word}" ne peut pas etre un nom',
  nameNoCall: '"{word}" n\'est pas un indicatif',
  nameMany: 'il y a deja {count} noms',
  nameDisk: 'le disque ne le prend pas',
  // Alerts, calls for help
  alertIs: 'Alerte {name}: {what}',
  alertOver: 'Fin alerte: {name}',
  alertExercise: 'exercice: {what}',
  alertDisk: '{count} MB libres, limite {limit}',
  alertBeyond: '{name} {count}, limite {limit}',
  alertHeard: 'on entend {call}',
  alertSilent: '{call} pas entendu depuis {count}h',
  emergencyReply: 'Recu. Station sans operateur: appelez aussi a la voix.',
}
