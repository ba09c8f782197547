import type { LanguageSynonyms } from './language.js'

export const french: LanguageSynonyms = {
  language: 'fr',
  strong: {
    help: `
      aide, commandes, commande, mode d emploi, que sais tu faire, que peux tu faire, aide moi, comment ça marche,
      instructions, liste des commandes, que sais tu, c est quoi, comment faire, que fais tu, quelles commandes, aidez moi, aide svp, ça fonctionne comment, comment ça fonctionne, comment utiliser, que puis je demander, que puis je faire, que puis je envoyer, fonctions, fonctionnalités, options, services, exemples, que faire, liste commandes, menu, guide, manuel, es tu un robot, es tu humain, tu es un robot, es tu une machine, es tu un humain, tu es humain, êtes vous un robot, pas compris, comprends pas, je ne comprends pas, je comprends pas, rien compris`,
    repeaters: `
      relais, répéteur, répéteurs, relai, transpondeur, transpondeurs, fréquence, fréquences, relais proche, tonalité, décalage, fréquence d'appel, canal d'appel, liste des relais, relais vocal, fréquence d'entrée, shift, répétiteur, répétiteurs, puis je toucher, puis je joindre, puis je accrocher, puis je atteindre, j accroche`,
    conditions: `
      il fait combien, combien fait il, fait combien, quelle température, météo, meteo, temps qu il fait, quel temps, quel temps fait il, température, vent, pluie, humidité, pression,
      pleut, il pleut, bulletin météo, rafales, neige, orage, fait il froid, froid, degrés, brouillard, brume, visibilité, tonnerre, éclairs, foudre, nuages, nuageux, il neige, grêle, verglas, gel, chaud, chaleur, tempête, ça souffle, souffle, averses, celsius, fait beau, fait il beau, temps dehors, fait quoi dehors, vitesse du vent, force du vent, direction du vent, humide, ensoleillé, couvert, bruine, gelée, il gèle, il grêle, climat, conditions météo, conditions, thermomètre, pluie tombée, pluie est tombée, neige tombée, neige est tombée, eau tombée, eau est tombée, a plu, a neigé, baromètre, pression atmosphérique, pluvieux, venteux, il vente, orageux, wx, neige t il, pleut il, geler, gelé, verglacé, il gelé`,
    pass: 'satellite, satellites, passage, passages, survol',
    'pass next': 'prochain passage, prochain satellite, prochains passages',
    'pass iss': 'station spatiale',
    sun: `
      soleil, coucher, lever, coucher de soleil, coucher du soleil, lever de soleil, lever du soleil, aube,
      crépuscule, fait nuit, ensoleillement, aurore, tombée de la nuit, il fera nuit, lumière, fait jour, combien de jour, heure bleue, heure dorée, avant la nuit, avant nuit, tombe la nuit, nuit tombe, le soleil se couche, le soleil se lève, se couche le soleil, se lève le soleil, coucher soleil, lever soleil, durée du jour, il fait jour, fait il nuit, fait il jour, fera nuit`,
    'sun moon': `
      lune, pleine lune, nouvelle lune, phase de la lune, lever de lune, phase lunaire, lune se lève, lune pleine, premier quartier, clair de lune, coucher de lune`,
    heard: `
      entendu, entendus, entendues, stations, qui est là, stations entendues, qui est entendu, qui entends tu,
      écoutés, dernières stations, indicatifs, quelqu'un, il y a quelqu'un, y a-t-il quelqu'un, qui est actif,
      qui a été entendu, dernière fois, as tu entendu, avez vous entendu, qui d autre, qui est en ligne, qui est sur l air, qui est actif, en fréquence, sur la fréquence, en l'air, qui est en fréquence, qui écoute, qui trafique, stations actives, y a du monde, y a quelqu un, derniers entendus, liste des stations, qui as tu entendu, quelqu un est là, est là, s'est annoncé`,
    'where me': `
      où suis je, ou suis je, ma position, mon locator, position, mes coordonnées, coordonnées, mon emplacement, mon qth, je me suis perdu, perdue, qth à moi, mon qth, qth de moi, mon propre qth, s est perdus, s est perdu, on est perdus, nous sommes perdus`,
    'where node': `
      où es tu, ou es tu, où êtes vous, ta position, votre position, qui es tu, qui êtes vous, ton locator, ton qth, comment tu t appelles, où est le noeud, avec qui je parle, quelle station, ton indicatif, votre indicatif, quel indicatif, indicatif, c est qui, t es qui, t es où, où est ce, vous êtes où, tu es où, vous êtes qui, tu es qui, quel noeud, ton nom, qui gère, qui t a, qui a fait, qui a construit, qui s occupe, à qui appartient, qui exploite`,
    where: `où est, ou est, où se trouve, où, distance, à quelle distance, quelle distance, c est loin, loin, direction de, quelle direction, direction, comment aller à, par où, cap vers, azimut, combien de km, chemin vers, c est où, où se situe, comment rejoindre, comment je vais à, chemin pour`,
    signal: `
      signal, rapport, report, réception, m entends tu, m entendez vous, tu m entends, vous m entendez,
      comment me recevez vous, me reçois tu, mon signal, force du signal, qualité, comment tu me reçois,
      contrôle de modulation, modulation, me reçois tu, tu me reçois, vous me recevez, me recevez vous, tu m entends, comment tu m entends, lisibilité, puissance du signal, est ce que tu me reçois, essai micro réception, comment me recevez, je passe bien, est ce que je passe, comment je passe, tu me copies, me copies tu, vous me copiez, tu me captes, me captez vous, vous me captez, tu me lis, me lisez vous, ma modulation, mon audio, je suis lisible, lisible, suis je lisible, j arrive comment, comment j arrive, m entend on, on m entend, me recevez, me reçoit on, test de réception, niveau du signal`,
    leave: `
      message pour, message à, laisser, laisse, laisser un message, laisse un message, dis à, dire à,
      laisser message, msg pour, préviens, prévenir, envoie à, écris à, transmets à, dites à, dis lui, dites lui, envoyer un message, envoie un message, envoyer message, écrire un message, écrire à, transmettre à, transmets un message, message destiné à, faire passer un message, faites passer à, passe un message à, mot pour, note pour, prévenez, préviens, avertir, avertis`,
    collect: `
      courrier, messages, mes messages, mon courrier, boîte aux lettres, bal, relever, nouveaux messages, courriel,
      mails, ai je des messages, récupérer, boîte, un message messages pour moi, pour moi, relever mon courrier, courrier pour moi, lire mes messages, reçu quelque chose, des messages, un message pour moi, message pour moi, j ai des messages, j ai du courrier, on m a écrit, quelqu un m a écrit, messages en attente, quelqu'un m'a cherché, quelqu'un m'a appelé, m a cherché, m a appelé, me cherche, on m a appelé, on m a cherché, boite mail, lire mon courrier, consulter mes messages, mot pour moi, note pour moi, des mots pour moi`,
    reply: 'répondre, réponds, répondez, réponse',
    mail: `messages envoyés, mes messages envoyés, mon message est il arrivé, qu est devenu mon message, retirer mon message, annuler mon message`,
    back: 'retour à, de retour à, retour prévu, rentré à, veille de retour',
    tell: 'prévenez moi quand, préviens moi quand, dites moi quand, dis moi quand',
    board: `
      quoi de neuf, quoi de nouveau,
      annonces, annonce, panneau, tableau, nouvelles, actualités, infos club, avis, tableau d affichage,
      nouveautés, babillard, du nouveau, quelles nouvelles, des nouvelles, événements, infos du club, info du club, informations du club, petites annonces, que se passe t il, quoi de neuf, ça se passe, événement, réunion, agenda, activités`,
    post: 'afficher, publier, affiche, publie',
    find: `
      chercher, cherche, rechercher, recherche, trouver, trouve, renseignements, informations sur, info sur,
      sujets, renseignement`,
    'find emergency': `
      numéros d'urgence, numéro d'urgence,
      urgence, secours, au secours, accident, médecin, hôpital, blessé, secours en montagne, pompiers, samu, blessée, jambe cassée, saigne, vipère, morsure, morsure de serpent, piqûre de vipère, coup de chaleur, insolation, ambulance, police, urgent, tombé, tombée, inconscient, avalanche, malaise, cassé la jambe, cassé le bras, 112, 15 samu, 18 pompiers, appelez les secours, appeler les secours, aidez nous, besoin de secours, besoin d aide, j ai besoin d aide, chute, j ai chuté, foulé, entorse, fracture, sang, coincé, coincés, évacuation, hélicoptère, crise cardiaque, infarctus, hypothermie, morsure, mordu, mordue, piqûre de serpent, réanimation, massage cardiaque, ne respire plus, malade, sos, jambe cassée, cassé une jambe, bras cassé, brûlure, brûlures, brûlé, brûlée, hémorragie, saignement, ne répond plus, ne répond pas, ne bouge plus, répond plus, est tombé, est tombée, sont tombés, suis bloqué, suis bloquée, on est bloqués, sommes bloqués, malaise, évanoui, évanouie, évanouissement, enfant disparu, disparu, disparue, porté disparu, douleur à la poitrine, n arrive plus à respirer, étouffe, électrocuté, foudroyé`,
    clock: `
      heure, quelle heure, quelle heure est il, l heure, horloge, date, heure utc, carré locator, locator, quel jour, quelle date, quel jour sommes nous, heure exacte, date du jour, la date, jour sommes nous, heure locale, l heure qu il est, heure actuelle`,
    'conditions forecast': `va t il pleuvoir, pleuvoir, neiger, prévisions, prévision, pleuvra, neigera, temps qu il fera, quel temps fera, fera t il, météo prévue, il va pleuvoir, il pleuvra, tendance, risque de pluie, va pleuvoir, va neiger, va faire beau, orages prévus, prévu, prévue, va geler, va t il geler, gèlera`,
    roll: `appel, qui manque, manquants, qui n a pas été entendu, qui a répondu présent, répondu présent, qui est présent, qui a répondu à l appel`,
    confirmed: `qui l a, qui a confirmé, confirmations`,
    'bulletins objects': `objets`,
  },
  weak: {
    conditions: 'temps',
    repeaters: `proche, proches, plus proche, près, autour, le plus proche, les plus proches, canal`,
    heard: 'qui',
    pass: 'prochain',
    collect: 'message, lire, pour moi',
    find: 'info, infos, information, sujet',
    help: 'comment, quoi',
    sun: `sombre, jour, nuit`,
    'where me': 'localisation, perdu',
  },
  greetings: `
    bonjour, salut, bonsoir, coucou, essai, essai radio, essais, test radio, allo, allô, bjr, slt,
    contrôle radio, essai essai, essai micro, tu es là, es tu là, vous êtes là, êtes vous là, tu m'entends allo, ceci est un test, c est un test, message de test, simple test, juste un test, test, test test, ça marche, ça fonctionne, ca va, ça va, appel général, appel à tous, bonjour à tous, bonsoir à tous, salut à tous, bonne journée à tous, hello, hey, un deux trois, essai un deux trois, rebonjour, premier essai`,
  thanks: `
    merci, merci beaucoup, merci bien, au revoir, à bientôt, bonne nuit, bonne journée, bonne soirée, d accord,
    reçu, bien reçu, compris, parfait, super, terminé, oui, non, bien, très bien, amitiés,
    a plus, cordialement, mille mercis, merci à toi, merci à vous, merci bcp, merci pour tout, merci infiniment, salutations, bonne continuation, à plus, a plus tard, à demain, ciao, tchao, ok merci, c est bon, génial, excellent, top, nickel, impeccable, message reçu, message bien reçu, cinq sur cinq, affirmatif, négatif, bon week end, amicalement, bonne nuit, fin de transmission, tout va bien, tout est ok, tout ok, ça roule, je vais bien, tout est bon, rien à signaler, ras, pas maintenant, plus tard`,
  cancel: `annuler, annule, arrête, arrêter, stop stop, arrête d'envoyer, arrêtez, ça suffit, tais toi, n envoie plus, assez, stop, laisse tomber, laissez tomber, oublie, oubliez, oublie ça, tant pis, arrêtez d'envoyer, plus de messages, désabonner, n'envoyez plus, silence, halte, stopper, effacer, supprimer, laisse moi tranquille, laissez moi tranquille, ne réponds pas, ne répondez pas, ne réponds plus, fiche moi la paix, pas de réponse, faux numéro, mauvais numéro, erreur de numéro`,
  arguments: {
    today: "aujourd'hui, maintenant",
    tonight: 'ce soir, cette nuit',
    tomorrow: 'demain',
    overmorrow: 'après demain',
    next: 'prochain, prochaine, prochains, suivant',
    all: 'tous, toutes, tout, toute',
    me: 'moi, je',
    here: 'ici',
    node: 'toi, vous, noeud',
    more: 'plus, suite',
    days: 'jours',
    sat: 'week-end, weekend',
    hours: 'heures',
  },
  numbers: 'deux, trois, quatre, cinq, six, sept, huit, , dix',
  weekdays: 'dimanche, lundi, mardi, mercredi, jeudi, vendredi, samedi',
  months: `
    janvier/janv, février/fév, mars, avril/avr, mai, juin, juillet/juil, août, septembre, octobre, novembre,
    décembre`,
  topics: {
    water:
      'eau, eau potable, point d eau, fontaine, robinet, soif, remplir ma gourde, gourde, boire, à boire',
    food: 'manger, repas, nourriture, déjeuner, dîner, cuisine, faim, restaurant, ravitaillement, cantine, mange, on mange, resto',
    camp: 'tente, planter la tente, camping, camper, bivouac, bivouaquer, aire de camping',
    bed: 'lit, lits, dormir, couchage, dortoir, hébergement, nuitée, abri, refuge, cabane, gîte',
    bus: 'bus, autobus, autocar, navette, horaires du bus, arrêt de bus, horaires',
    aid: 'premiers secours, premiers soins, poste de secours, infirmerie, pansement, ampoule',
    toilet: 'toilettes, toilette, douche, douches, sanitaires',
    power:
      'prise, prise électrique, recharger, chargeur, charger mon téléphone, recharger, courant, électricité',
    parking: 'stationnement, garer la voiture, garer, parking, parkings, me garer',
    path: 'sentier, chemin, itinéraire, déviation, sentier fermé, carte',
    avalanche:
      'risque d avalanche, risque avalanche, bulletin avalanche, bulletin d avalanche, danger d avalanche, risque d avalanches, bra',
    net: 'qso de section, qso du soir, qso du dimanche',
  },
  putting:
    'mettre, mets, afficher, poster, écrire, accrocher, laisser, ajouter, passer, déposer, affichez, mettez, inscris, notez, écrivez, postez, publiez, épingle',
  sending:
    'informer, avertir, envoie, envoyez, envoyer, dis, dites, dire, écris, écrire, préviens, prévenez, transmets, passe, appelle, donne, envoies',
  bands: 'soixante dix, mètre/mètres, centimètre/centimètres',
  ignored: `
    de passage, prix, coûte, coûtent, cher, t, til, me semble,    svp, s il vous plaît, s il te plaît, stp, le, la, les, l, un, une, des, du, de, d, et, ou, où, est, sont, ce,
    c, que, quel, quelle, quels, quelles, quand, comment, qui, qu, il, elle, on, je, j, tu, vous, nous, me, m,
    moi, te, mon, ma, mes, ton, ta, tes, fait, faire, à, au, aux, a, en, dans, sur, sous, pour, par, avec, près,
    proche, proches, plus, autour, ici, là, y, se, s, n, ne, pas, donne, donnez, donner, montre, envoie, envoyez,
    veux, voudrais, peux, peut, pouvez, avoir, ai, as, liste, actuel, actuelle, actuellement, maintenant,
    aujourd'hui, merci, bonjour, salut, prochain, prochaine, temps, combien, suis, es, êtes, moment, heure,
    reste, encore, tout, très, va, passe, passera, couche, lève, leve, station, demande, besoin, dis, dites, bien, si, ça, cela, ceci, cette, cet, ces, quoi, vers, chez, entre, sans, aussi, alors, donc, car, bonjour, bonsoir, est ce que, il y a, y a t il, peut on, puis, voir, savoir, connaître, avez, avoir, coin, haut, bas, sommet, dehors, vraiment, autres, autre, quelque, quelques, chose, combien de temps, va t, vas, font, faites, fais, peuvent, passent, passeront, restent, resté, sera, seront, serait, était, étaient, avait, auront, aurait, ont, avons, sommes, dans le coin, col, jusqu, jusque, depuis, pendant, avant, après, sous peu, bientôt, tard, tôt, vite, rapide, rapidement, sinon, peut être, pourriez, pourrait, pourrais, pouvons, voulons, voudrions, aimerais, faut, faudrait, dois, doit, devons, leur, leurs, notre, nos, votre, vos, son, sa, ses, aucun, chaque, plusieurs, quelconque, celui, celle, ceux, dont, lequel, laquelle, ici même, là haut, là bas, environ, exactement, exact, meilleur, meilleure, mieux, bon, bonne, fort, grand, visible, disponible, dernier, dernière, derniers, allez, les gars, copain, ami, amis, tiens, savez, sais, sait, peu importe, n importe lequel, n importe quel, nimporte, aprem, toucher`,
  roles: {
    worried: 'pas rentré, pas rentrée, inquiète, inquiet, inquiets, inquiètent',
    extends: 'repousse, repousser, prolonge, prolonger, décale, décaler, retarde, change, changer',
    otherwise: 'sinon, autrement, si pas, si non',
    how: 'comment',
    booking: 'réserver, réserve, réservez, réservation, réservé',
    ask: 'demande, demandez, demander, demandes',
    if: "si, au cas où, en cas de, à moins que, sauf si, sans nouvelles, s il, s'il",
    not: 'pas, plus, rien, sans, jamais, aucune, aucun, à moins que, sauf si, non, sans nouvelles, absence',
    back: 'rentré, rentrée, rentre, rentrer, revenu, revenue, reviens, retour, nouvelles, nouvelle, signe, donné, entendu, entends, descendu, arrivé, redescendu, là, réponds, appelé, manifesté, vie, bas, rentrés, revenus, rentrés',
    others: 'elle, lui, eux, ils, leur',
    tell: 'prévenir, préviens, prévenez, avertir, avertis, avertissez, appelle, appeler, appelez, alerte, alerter, alertez, dis, dire, dites, informe, informer, contacte, contacter, signale, envoie',
    tellMe:
      "préviens moi, prévenez moi, dis moi, dites moi, avertis moi, avertissez moi, informe moi, fais moi signe, fais moi savoir, faites moi signe, alerte moi, me prévenir, me dire, m avertir, préviens nous, tiens moi au courant, me préviens, m'avertis, me dis, signale moi, appelle moi, veux savoir, me préviendras, m'avertir, un signe, rappelle moi, réveille moi, avertissez nous, dis nous, alertez moi",
    when: 'quand, dès que, des que, lorsque, si, aussitôt que, qd, dès qu, des qu, une fois que',
    past: 'dernière, dernier, as, a été, était, avez',
    mine: 'mon, ma, mes, notre, nos',
    message: 'message, messages, msg, mot, mail, mails, email, e mail, courriel, note, sms, texto',
    delivered:
      'reçu, lu, récupéré, relevé, délivré, remis, livré, transmis, lus, reçus, distribué, ouvert, pris',
    arrived:
      'arrivé, arrivée, parti, partie, passé, eu, devenu, envoyé, arrivés, partis, est parti, statut, attend encore, arrive, vu, perdu, resté',
    asks: 'est ce, as tu, a t il, a t elle, est il, est elle, avez vous, ont ils, sais tu si, est, a, as, qu est devenu, où en est, il est, t as, tas, il a',
    orNot: 'ou pas, ou non',
    forMe: 'pour moi, à moi, pour nous',
    watch:
      'alerte, alarme, veille, veille de retour, surveillance, minuterie, me surveiller, surveiller, m attendre, me guetter, l alerte de',
    off: 'annule, annuler, annulez, arrête, arrêter, stop, enlève, enlever, lève, lever, supprime, supprimer, coupe, couper, désactive, désactiver, fin de, retire, retirer, coupez, oublie, oubliez, oublier, efface, effacer, effacez, n envoie pas, n envoyez pas, ne pas envoyer, plus besoin, plus besoin de, plus nécessaire, pas la peine de, inutile de',
    safe: 'suis rentré, suis rentrée, suis revenu, suis revenue, suis de retour, bien rentré, bien rentrée, bien descendu, suis descendu, suis en bas, bien arrivé, bien arrivée, sommes rentrés, sommes de retour, on est rentrés, sain et sauf, sains et saufs, suis à la maison, rentré sain, suis en sécurité, de retour au parking, rentré à la maison, de retour à la voiture, de retour à la maison, de retour en bas, suis à la voiture, je suis rentré, rentré à la voiture',
    seen: 'vu, vue, aperçu, croisé, passer, passé, arrivé, arrivée, atteint, parti, partie, aperçue, croisée, voir passer, est passé',
    notice: 'annonce, avis, petite annonce, affiche, affichage, nouvelle annonce, sur le tableau',
    sale: 'à vendre, vends, je vends, vend, à donner, je donne, cède, recherche acheteur',
    before: "avant, à, vers, après, a, jusqu'à, jusqu a",
    unwanted:
      'pas de, aucun, aucune, arrête, arrête de, arrête d, arrêtez, arrêtez de, arrêter, stop, coupe, désactive, désabonne, ne, n, assez de, assez, marre de, fini, plus jamais, cesse, cesse de, cesse d, cessez',
    updates:
      'météo, bulletin, bulletins, prévisions, alerte, alertes, avertissement, avertissements, message, messages, msg, nouvelles, infos, annonces, avis, balise, balises, spam, notifications, rapports, trucs, choses, m envoyer',
    everybody:
      'à tous, à toutes, à tout le monde, pour tous, tout le monde, à toutes les stations, pour tout le monde',
    someone: "quelqu'un, quelqu un, on m, qui m",
    left: 'laissé, écrit, envoyé, déposé, laissés, ai laissé, ai envoyé, ai écrit',
    let: 'fais savoir, faites savoir, faire savoir, fais passer',
    that: 'que, qu',
    way: 'col, cols, passe, route, routes, chemin, sentier, piste, pont, tunnel, via ferrata, arête, passage, voie',
    state:
      'ouvert, ouverte, ouverts, ouvertes, fermé, fermée, bloqué, bloquée, praticable, praticables, impraticable, dégagé, dégagée, coupé, coupée, enneigé, enneigée, glissant, boueux, accessible, barré, barrée',
    again:
      'répète, répétez, encore une fois, encore, pardon, la suite, suite, redis, redites, tu peux répéter, qu as tu dit, renvoie, renvoyez',
    runner: 'dossard, coureur, coureuse, participant, participante, numéro',
    lost: 'je suis perdu, je suis perdue, suis perdu, suis perdue, sommes perdus, sommes perdues, me suis perdu, me suis perdue, on est perdus, on s est perdus, me suis égaré, me suis égarée, sommes égarés, perdu le chemin, perdu le sentier, perdu mon chemin, sais pas où je suis, sais plus où je suis, savons pas où nous sommes',
    cry: 'aide, aidez, aidez moi, aidez nous, aide moi, à l aide, au secours, secours',
    noEmergency:
      'pas une urgence, pas d urgence, pas urgent, rien d urgent, aucune urgence, pas de blessé, pas de blessés, pas blessé, pas blessée, personne n est blessé, personne de blessé, aucun blessé, pas besoin de secours',
    presence:
      'présent au poste, présent poste, présente poste, est présent, en place au poste, en place, au poste, en position, prêt',
    switching:
      'allume, allumer, allumez, éteins, éteindre, éteignez, redémarre, redémarrer, redémarrez, mets en marche',
    returns:
      'de retour, serai de retour, rentre, rentré, reviens, rentrerai, reviendrai, retour, rentrée, revenu, revenue, revenus, rentrés',
  },
}
