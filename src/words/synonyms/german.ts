import type { LanguageSynonyms } from './language.js'

export const german: LanguageSynonyms = {
  strong: {
    help: `
      hilfe, befehle, befehl, kommandos, anleitung, menü, was kannst du, was gibt es, was kann ich fragen, dienste,
      bedienung, liste der befehle, wie geht das`,
    repeaters: `
      relais, umsetzer, repeater, relaisstation, relaisstationen, relaisliste, nächstes relais, nächste relais,
      relaisfunkstelle, frequenz, frequenzen, nächstgelegene`,
    conditions: `
      wie viel grad, wieviel grad, regnen, schneien,
      wetter, temperatur, wind, regen, luftdruck, feuchte, luftfeuchtigkeit, wetterbericht, wetterdaten,
      wettervorhersage, vorhersage, wie kalt, wie warm, regnet, regnet es, grad, böen, windig, kalt, schnee, sturm,
      gewitter, bedingungen, aktuelles wetter, wie wird das wetter, niederschlag`,
    pass: `
      satellit, satelliten, überflug, überflüge, durchgang, durchgänge, sat überflug, satellitenüberflug, bahn`,
    'pass next': `
      nächster satellit, nächster überflug, nächster durchgang, nächste satelliten, nächster sat`,
    'pass iss': 'raumstation',
    sun: `
      sonne, sonnenuntergang, sonnenaufgang, untergang, aufgang, dämmerung, abenddämmerung, morgendämmerung,
      wann wird es dunkel, dunkel, wann wird es hell, sonnenzeiten, tageslicht, wie lange noch hell, sonnenstand`,
    'sun moon': 'mond, vollmond, neumond, mondphase, mondaufgang, monduntergang',
    heard: `
      gehört, gehoert, wer ist da, wer ist qrv, wer ist on, stationen, wer wurde gehört, zuletzt gehört,
      wer ist in der nähe, jemand da, ist jemand da, wer ist auf der frequenz, gehörte stationen, rufzeichen,
      wer war da, wen hörst du, wen hast du gehört, noch jemand da`,
    'where me': `
      wo bin ich, meine position, mein standort, mein locator, standort, meine koordinaten, koordinaten`,
    'where node': `
      wo bist du, dein standort, deine position, dein locator, wer bist du, wo steht der knoten`,
    where: 'wo ist, wo steht, wie weit ist, entfernung, wo befindet sich',
    signal: `
      signal, rapport, empfang, hörst du mich, wie hörst du mich, wie komme ich an, wie ist mein signal,
      signalstärke, feldstärke, pegel, wie laut, mein signal, wie höre ich mich an, empfangsbericht, modulation`,
    leave: `
      sag, sagt, richte, gib bescheid, bescheid an, schreib, schick an,
      nachricht an, nachricht für, hinterlasse, hinterlassen, schreibe an, sage, mitteilung an, text an, melde,
      nachricht hinterlassen`,
    collect: `
      post, nachrichten, meine nachrichten, meine post, postfach, briefkasten, abholen, nachrichten abholen, mail,
      mails, habe ich post, neue nachrichten, mailbox, etwas für mich, was für mich`,
    board: `
      was gibts neues,
      brett, schwarzes brett, aushang, aushänge, neuigkeiten, neues, bekanntmachungen, meldungen,
      was gibt es neues, rundspruch, pinnwand, bulletins`,
    post: 'aushängen, anschlagen, veröffentlichen',
    find: `
      suche, suchen, finde, nachschlagen, auskunft, auskunft über, information über, info über, infos zu, info zu,
      themen`,
    'find emergency': `
      notrufnummer, notrufnummern, notfallnummer, notfallnummern,
      notruf, notfall, bergrettung, bergwacht, rettung, arzt, krankenhaus, unfall, verletzt, polizei`,
    clock: `
      uhrzeit, uhr, wie spät, wie spät ist es, wie viel uhr, wieviel uhr, datum, zeit utc, qth kenner, planquadrat`,
  },
  weak: {
    repeaters: 'nahe, nächste, nächster, nächstes, in der nähe, umgebung',
    conditions: 'draußen',
    pass: 'sat',
    heard: 'wer, jemand, liste',
    clock: 'zeit, spät',
    where: 'wo',
    collect: 'nachricht, mitteilung, lesen',
    find: 'info, infos, information, thema',
    help: 'wie, was',
    sun: 'hell',
  },
  greetings: `
    hallo, guten tag, guten morgen, guten abend, moin, servus, grüß gott, grüezi, gruß, grüße, prüfung,
    funkprobe, probe, sprechprobe, griaß di, tag, hallo zusammen, bist du da, testruf`,
  thanks: `
    danke, vielen dank, dankeschön, danke schön, besten dank, tschüss, tschüs, ade, auf wiedersehen,
    auf wiederhören, gute nacht, bis bald, bis später, verstanden, alles klar, gut, ende, ja,
    nein, merci, super, prima, viele grüße, schönen tag, beste 73, vy 73`,
  cancel: 'abbrechen, abbruch, stopp, beenden, aufhören, genug, storno',
  arguments: {
    today: 'heute, jetzt',
    tonight: 'heute abend, heute nacht',
    tomorrow: 'morgen',
    overmorrow: 'übermorgen',
    next: 'nächster, nächste, nächstes, nächsten',
    all: 'alle, alles, sämtliche',
    me: 'ich, mir, mich',
    here: 'hier',
    node: 'du, knoten',
    more: 'mehr',
  },
  weekdays: 'sonntag, montag, dienstag, mittwoch, donnerstag, freitag, samstag/sonnabend',
  months: `
    januar/jänner, februar, märz, april, mai, juni, juli, august, september, oktober/okt, november, dezember/dez`,
  ignored: `
    bitte, der, die, das, den, dem, des, ein, eine, einen, einer, ist, sind, war, wird, werden, es, und, oder,
    wo, wann, wie, was, welche, welches, welcher, wer, gibt, gib, zeig, zeige, sende, schick, schicke, mir, mich,
    ich, du, ihr, mein, meine, dein, deine, im, in, am, an, auf, bei, beim, von, vom, für, zu, zum, zur, nach,
    um, mit, nahe, nähe, nächste, nächster, nächstes, nächsten, hier, da, jetzt, gerade, aktuell, aktuelle,
    aktuelles, aktueller, heute, noch, denn, kannst, kann, könnte, könntest, möchte, will, brauche, suche, geht,
    gehen, unter, kommt, haben, hat, habe, hast, sagen, sag, lange, viel, viele, draußen, umgebung, oben, berg,
    danke, gruß, hallo, herum, rum, liste, welchen, über, abfrage, grad, man, sich, mal, uns, einmal, station`,
}
