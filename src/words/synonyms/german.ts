import type { LanguageSynonyms } from './language.js'

export const german: LanguageSynonyms = {
  language: 'de',
  strong: {
    help: `
      hilfe, befehle, befehl, kommandos, anleitung, menü, was kannst du, was gibt es, was kann ich fragen, dienste,
      bedienung, liste der befehle, wie geht das, was machst du, was weißt du, was ist das, was geht hier, wie benutze ich das, kannst du mir helfen, kannst du helfen, helfen, befehlsliste, befehlsübersicht, funktionen, funktion, möglichkeiten, was kann ich senden, was kann ich machen, was soll ich senden, wie bedient man das, wie funktioniert das, wie funktioniert es, übersicht, kurzanleitung, handbuch, beispiele, was nun, was jetzt, bist du ein roboter, bist du ein mensch, bist du eine maschine, bist du echt, bist du ein bot, bist du ein computer, bist du automatisch, verstehe nicht, versteh nicht, verstehe ich nicht, versteh ich nicht, ich verstehe nicht, ich versteh nicht, kapiere nicht, kapier ich nicht, was kannst du alles`,
    repeaters: `
      relais, umsetzer, repeater, relaisstation, relaisstationen, relaisliste, nächstes relais, nächste relais,
      relaisfunkstelle, frequenz, frequenzen, ctcss, tonruf, rufton, subton, ablage, eingabefrequenz, relaisfrequenz, relaisfrequenzen, anruffrequenz, anrufkanal, sprechkanal, sprechfrequenz, funkrelais, umsetzerliste, kann ich erreichen, kann ich arbeiten, komm ich rein, komme ich rein, auftasten, colourcode, sprechgruppe`,
    conditions: `
      wie viel grad, wieviel grad, wetter, temperatur, wind, regen, luftdruck, feuchte, luftfeuchtigkeit, wetterbericht, wetterdaten,
      wie kalt, wie warm, regnet, regnet es, grad, böen, windig, kalt, schnee, sturm,
      gewitter, bedingungen, aktuelles wetter, niederschlag, niederschläge, regen gefallen, schnee gefallen, geregnet, geschneit, regenmenge, nebel, neblig, sicht, sichtweite, blitz, blitze, wolken, bewölkt, schneit, schneit es, regnets, hagel, eis, glatteis, frost, hitze, heiss, warm, taupunkt, windstärke, stürmisch, wetterlage, schauer, celsius, windgeschwindigkeit, windrichtung, trocken, nass, wie ists draußen, wies draußen, wie ist es draußen, sonnig, bedeckt, schwül, nieselt, graupel, schneefall, regenschauer, wätter, wettr, gewittert, donnert, windböen, orkan, klima, wettermeldung, wetterstation, wx, gefühlt, minusgrade, plusgrade, wie siehts wettermäßig aus, frostig, eisig, friert, friert es, schneehöhe, neuschnee, tauwetter, luftfeuchte, gipfelwetter`,
    pass: `
      satellit, satelliten, überflug, überflüge, durchgang, durchgänge, sat überflug, satellitenüberflug, bahn`,
    'pass next': `
      nächster satellit, nächster überflug, nächster durchgang, nächste satelliten, nächster sat`,
    'pass iss': 'raumstation',
    sun: `
      sonne, sonnenuntergang, sonnenaufgang, untergang, aufgang, dämmerung, abenddämmerung, morgendämmerung,
      wann wird es dunkel, dunkel, wann wird es hell, sonnenzeiten, tageslicht, wie lange noch hell, sonnenstand, sonne unter, sonne auf, wirds dunkel, wirds hell, wie lange hell, licht, wie lange licht, blaue stunde, goldene stunde, wie lange licht, tagesende, tageslänge, sonnenauf, sonnenunter, ab wann hell, bis wann hell, ab wann dunkel, noch hell, finster, wirds finster, nacht wird es, abendrot, morgengrauen, licht haben`,
    'sun moon': `mond, vollmond, neumond, mondphase, mondaufgang, monduntergang, mondlicht, halbmond, mond auf, mond unter, mondschein`,
    heard: `
      gehört, gehoert, wer ist da, wer ist qrv, wer ist on, stationen, wer wurde gehört, zuletzt gehört,
      wer ist in der nähe, jemand da, ist jemand da, wer ist auf der frequenz, gehörte stationen, rufzeichen,
      wer war da, wen hörst du, wen hast du gehört, noch jemand da, zuletzt, wer noch, wer ist aktiv, wer ist unterwegs, stationsliste, wer ist zu hören, schon da, jemand auf der frequenz, jemand auf frequenz, jemand qrv, jemand hier, hört jemand, hört wer, noch wer da, wer da, wer funkt, war da, gemeldet, aktive stationen, wer hat sich gemeldet, aufgetaucht, angekommen, wer ist unterwegs, hat sich gemeldet`,
    'where me': `
      wo bin ich, meine position, mein standort, mein locator, standort, meine koordinaten, koordinaten, mein qth, mein ort, habe mich verlaufen, ich habe mich verirrt, verlaufen, verirrt, qth meins, meine qth, mein qth, qth von mir, wo bin`,
    'where node': `
      wo bist du, dein standort, deine position, dein locator, wer bist du, wo steht der knoten, wie heißt du, wo ist der knoten, dein qth, mit wem rede ich, mit wem spreche ich, welche station ist das, wer spricht, dein rufzeichen, euer rufzeichen, dein name, wie heißt die station, wo seid ihr, wer seid ihr, wo steht ihr, euer standort, welcher knoten, wer ist das, wie weit weg bist du, wer betreibt, wer hat dich, wer steckt dahinter, wem gehört, wer ist der betreiber, wer hat das gebaut, wer kümmert sich`,
    where: `wo ist, wo steht, wie weit ist, entfernung, wo befindet sich, wie weit bis, wie weit nach, wie weit, wie weit zu, richtung nach, weg nach, wo liegt, wo steckt, in welcher richtung, welche richtung, richtung, wo gehts nach, wie komme ich nach, wie komm ich nach, weg zu, wo gehts zu, kurs nach, wo finde ich, wie komme ich zur, wie komme ich zum, wie komm ich zur, wie komm ich zum, wie komme ich zu, wie gehts zur, wie gehts zum, weg zur, weg zum, wie finde ich`,
    signal: `
      signal, rapport, empfang, hörst du mich, wie hörst du mich, wie komme ich an, wie ist mein signal,
      signalstärke, feldstärke, pegel, wie laut, mein signal, wie höre ich mich an, empfangsbericht, modulation, mich hören, hörst mich, komm ich an, komme ich durch, verstehst du mich, kannst du mich hören, lesbarkeit, wie komm ich an, wie bin ich zu hören, mein audio, hört ihr mich, hören sie mich, signalbericht, wie hört ihr mich, wie ist der empfang, bin ich zu hören, werde ich gehört, bin ich laut, wie laut bin ich, bin ich verständlich, verständlich, komm ich gut an, komme ich gut an, komm ich durch, kommt mein signal an, bin ich zu verstehen, wie ist mein ton, modulationskontrolle, empfängst du mich, empfangt ihr mich, empfängt ihr mich, liest du mich, kopierst du mich, komme ich an, komm ich rüber, komme ich rüber`,
    leave: `
      sag, sagt, richte, gib bescheid, bescheid an, schreib, schick an,
      nachricht an, nachricht für, hinterlasse, hinterlassen, schreibe an, sage, mitteilung an, text an, melde,
      nachricht hinterlassen, schreibe, richte aus, gib weiter an, weitersagen, nachr an, nachricht senden, nachricht schicken, nachricht schreiben, nachricht hinterlassen, nachricht hinterlasse, nachricht zu, benachrichtige, informiere, gib bescheid an, ausrichten an, schick nachricht an, sende nachricht an, schicke nachricht an, grüße an, gruß an`,
    collect: `
      post, nachrichten, meine nachrichten, meine post, postfach, briefkasten, abholen, nachrichten abholen,
      mails, habe ich post, neue nachrichten, mailbox, etwas was für mich, nachrichten abrufen, für mich, liegt was für mich, post da, post für mich, hab ich post, habe ich nachrichten, hat mir jemand geschrieben, abrufen, hat jemand geschrieben, hat mir jemand, für mich hinterlassen, nachrichten lesen, nachrichten abholen, post lesen, post abholen, ungelesene, eingang, posteingang, wartet was, sucht mich jemand, mich jemand gesucht, nach mir gefragt, mich gesucht, mich gerufen, mich angefunkt, wartet etwas, liegt etwas, liegt was vor, nachricht für mich, eine nachricht für mich, notiz für mich, mitteilung für mich, mitteilungen für mich`,
    reply: 'antworte, antworten, antwort, antwort an letzten',
    mail: `gesendete nachrichten, meine gesendeten, was wurde aus meiner nachricht, ist meine nachricht angekommen, kam meine nachricht an, nachricht zurückziehen, nachricht zurücknehmen`,
    back: 'zurück um, zurück bis, rückkehr, überfällig, bin zurück um, rückkehrwache',
    tell: 'sag mir wenn, sag bescheid wenn, melde mir wenn, bescheid wenn',
    board: `
      was gibts neues,
      brett, schwarzes brett, schwarze brett, schwarzen brett, aushang, aushänge, neuigkeiten, neues, bekanntmachungen, meldungen,
      was gibt es neues, rundspruch, pinnwand, bulletins, was ist los, irgendwas neues, was ist neu, veranstaltungen, termine, termin, clubabend, ov abend, neuigkeit, hinweise, mitteilungen, infobrett, was läuft, was steht an, was passiert, ankündigungen, ankündigung, rundschreiben, was ist heute los, heute los, was geht heute, was läuft heute, was gibts heute`,
    post: 'aushängen, anschlagen, veröffentlichen',
    find: `
      suche, suchen, finde, nachschlagen, auskunft, auskunft über, information über, info über, infos zu, info zu,
      themen`,
    'find emergency': `
      notrufnummer, notrufnummern, notfallnummer, notfallnummern,
      notruf, notfall, bergrettung, bergwacht, rettung, arzt, krankenhaus, unfall, verletzt, polizei, gebrochen, blutet, verletzte, feuerwehr, sanitäter, notarzt, dringend, bein gebrochen, gestürzt, abgestürzt, bewusstlos, herzinfarkt, lawine, unterkühlt, knochenbruch, jemand ist gestürzt, jemand gestürzt, abgerutscht, 112, 110, sturz, knöchel verstaucht, schlangenbiss, zeckenbiss, hitzschlag, sonnenstich, gebissen, reanimation, wiederbelebung, herzdruckmassage, atmet nicht, verstaucht, ohnmächtig, herzanfall, schlaganfall, allergisch, erfroren, erfrierung, brauchen hilfe, brauche dringend hilfe, rettet uns, rettungsdienst, rettungshubschrauber, hubschrauber, eingeklemmt, eingeschlossen, kann nicht mehr laufen, kann nicht laufen, sos, hilfe verletzt, verbrennung, verbrennungen, verbrannt, verbrüht, verbrühung, blutung, antwortet nicht, reagiert nicht, antwortet nicht mehr, reagiert nicht mehr, rührt sich nicht, kollabiert, umgekippt, zusammengebrochen, vermisst, wird vermisst, kind vermisst, sitzen fest, sitze fest, stecken fest, kommen nicht mehr weiter, komme nicht mehr weiter, kommen nicht weiter, brustschmerzen, bekommt keine luft, stromschlag, blitzschlag, ohnmacht`,
    clock: `
      uhrzeit, uhr, wie spät, wie spät ist es, wie viel uhr, wieviel uhr, datum, zeit utc, qth kenner, planquadrat, welcher tag, welches datum, welchen tag, den wievielten, genaue zeit, uhrzeit, zeitansage, genaue zeit, weltzeit, utc zeit, datum, welches datum, wieviel uhr ist es, ortszeit, aktuelle zeit`,
    'conditions forecast': `wettervorhersage, vorhersage, regnen, schneien, wie wird das wetter, wirds regnen, wird es regnen, wird es schneien, wetterprognose, prognose, wie wirds wetter, wirds wetter, wie wird wetter, wird das wetter, wetteraussichten, aussichten, wettertrend, regenwahrscheinlichkeit, bleibt es trocken, bleibts trocken, gibt es gewitter, kommt gewitter, kommt regen, kommt schnee, wird es kalt, wird es warm, friert es heute, wird es frieren, frost heute nacht, kommt noch gewitter`,
    roll: `appell, wer fehlt, wer fehlt noch, anwesenheit, wer wurde nicht gehört`,
    confirmed: `wer hat es, wer hat bestätigt, wer hat es bekommen, bestätigt`,
    'bulletins objects': `objekte`,
  },
  weak: {
    repeaters: 'nächstgelegene, nahe, nächste, nächster, nächstes, in der nähe, umgebung',
    conditions: 'draußen',
    pass: 'sat',
    heard: 'wer, jemand, liste',
    clock: 'zeit, spät',
    where: 'wo',
    collect: 'nachricht, mitteilung, lesen, für mich',
    find: 'info, infos, information, thema',
    help: 'wie, was',
    sun: 'hell',
    'where me': `standpunkt`,
  },
  greetings: `
    hallo, guten tag, guten morgen, guten abend, moin, servus, grüß gott, grüezi, gruß, grüße, prüfung,
    funkprobe, probe, sprechprobe, griaß di, tag, hallo zusammen, bist du da, testruf, testnachricht, nur ein test, das ist ein test, dies ist ein test, funktest, funkcheck, test eins zwei, eins zwei drei, bist du wach, seid ihr da, bist du noch da, hörst du, guten tag zusammen, guten abend zusammen, guten morgen zusammen, n abend, nabend, mahlzeit, hey, hi, hallihallo, gemoje, grias di, griass di, griass eich, hoi, salü, tach, funktioniert das, funktioniert es, geht das, klappt das, rufe, allgemeiner anruf, anruf an alle, allgemeiner ruf, testsendung, sprechtest, mikrotest`,
  thanks: `
    danke, vielen dank, dankeschön, danke schön, besten dank, tschüss, tschüs, ade, auf wiedersehen,
    auf wiederhören, gute nacht, bis bald, bis später, verstanden, alles klar, gut, ende, ja,
    nein, merci, super, prima, viele grüße, schönen tag, beste 73, vy 73, passt, passt so, in ordnung, geht klar, top, prima danke, vielen lieben dank, lieben dank, dank, vergelts gott, dank dir, danke sehr, herzlichen dank, tausend dank, dankeschön, ciao, baba, pfiat di, pfiati, bis dann, bis demnächst, mach's gut, machs gut, gut so, sehr gut, ausgezeichnet, perfekt, klasse, toll, hat geklappt, funktioniert, empfangen, erhalten, angekommen, nachricht erhalten, nachricht empfangen, roger, hab's, habs bekommen, genau, okay, vy 73, ende der durchsage, schönen abend, schönes wochenende, alles ok, alles okay, alles gut, alles in ordnung, alles bestens, bin ok, mir gehts gut, passt schon, alles roger, jetzt nicht, später, vielleicht später`,
  cancel: `abbrechen, abbruch, schluss jetzt, nichts mehr senden, nichts mehr schicken, stopp, beenden, aufhören, genug, storno, hör auf, schluss, ruhe, sei still, nichts mehr, keine nachrichten mehr, stop, lass das, lass es, lass gut sein, vergiss es, nicht mehr senden, nicht mehr schicken, aufhören zu senden, keine mehr, halt, anhalten, stornieren, löschen, abmelden, reicht, das reicht, es reicht, lass mich in ruhe, nicht antworten, antworte nicht, antworte mir nicht, lasst mich in ruhe, keine antwort nötig, gib ruhe, nicht senden, falsch verbunden, verwählt, falsche nummer, habe mich verwählt`,
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
    days: 'tagen, tage',
    sat: 'wochenende',
    hours: 'stunden',
  },
  numbers: 'zwei/zwo, drei, vier, fünf, sechs, sieben, acht, neun, zehn',
  weekdays: 'sonntag, montag, dienstag, mittwoch, donnerstag, freitag, samstag/sonnabend',
  months: `
    januar/jänner, februar, märz, april, mai, juni, juli, august, september, oktober/okt, november, dezember/dez`,
  topics: {
    water:
      'wasser, trinkwasser, wasserstelle, brunnen, wasserhahn, durst, flasche füllen, flasche auffüllen, trinken, zu trinken',
    food: 'essen, mittagessen, abendessen, frühstück, küche, hunger, verpflegung, gasthaus, wirtschaft, kantine, was zu essen, imbiss, gasthaus',
    camp: 'zelt, zelten, zeltplatz, campingplatz, lagerplatz, zelt aufstellen, biwak, biwakieren',
    bed: 'bett, betten, schlafen, übernachten, übernachtung, unterkunft, schlafplatz, matratzenlager, unterstand, hütte, schutzhütte, berghütte',
    bus: 'bus, pendelbus, fahrplan, haltestelle, abfahrt, abfahrtszeiten, postauto, busse',
    aid: 'erste hilfe, verbandskasten, pflaster, sanitätsposten, blase, verband',
    toilet: 'toilette, toiletten, klo, dusche, duschen, waschraum, abort',
    power:
      'steckdose, aufladen, handy laden, ladegerät, ladestation, akku laden, strom, laden, aufzuladen',
    parking: 'parkplatz, parken, auto abstellen, parkplatz, parkplätze, parkhaus',
    path: 'wanderweg, pfad, umleitung, weg gesperrt, karte, route, wegsperre',
    avalanche:
      'lawinengefahr, lawinenlage, lawinenlagebericht, lawinenbericht, lawinenwarnung, lawinenwarnstufe, lawinenstufe, gefahr von lawinen, lawinen gefahr, lawinenrisiko',
    net: 'runde, funkrunde, ortsrunde, abendrunde, netz',
  },
  putting:
    'machen, mache, schreiben, schreib, aufhängen, hängen, häng, anbringen, hinterlassen, kleben, setzen, trag ein, trage ein, notiere, pinne, hänge, häng auf, setz',
  sending:
    'sagen, ausrichten, mitteilen, sende, schick, schicke, sag, sage, schreib, schreibe, melde, gib, richte, grüß, grüße, ruf, rufe, informiere, senden, schicken, schreiben, abschicken, verschicken',
  bands: 'siebzig, meter, zentimeter',
  ignored: `
    gegend, sondern, kost, kostet, kosten, preis, preise, teuer, isses, ises, heut, scho, wir, wen,    bitte, der, die, das, den, dem, des, ein, eine, einen, einer, ist, sind, war, wird, werden, es, und, oder,
    wo, wann, wie, was, welche, welches, welcher, wer, gibt, gib, zeig, zeige, sende, schick, schicke, mir, mich,
    ich, du, ihr, mein, meine, dein, deine, im, in, am, an, auf, bei, beim, von, vom, für, zu, zum, zur, nach,
    um, mit, nahe, nähe, nächste, nächster, nächstes, nächsten, hier, da, jetzt, gerade, aktuell, aktuelle,
    aktuelles, aktueller, heute, noch, denn, kannst, kann, könnte, könntest, möchte, will, brauche, suche, geht,
    gehen, unter, kommt, haben, hat, habe, hast, sagen, sag, lange, viel, viele, draußen, umgebung, oben, berg,
    danke, gruß, hallo, herum, rum, liste, welchen, über, abfrage, grad, man, sich, mal, uns, einmal, station, schon, war, waren, wäre, denn, eigentlich, bitteschön, ists, wies, eure, euer, euch, sie, ihnen, er, ob, dass, nur, auch, mehr, so, kannste, haste, gibts, wo's, für's, beste, welch, alles, etwas, was, irgendwo, irgendein, irgendeine, möglich, nähere, nächst, liegt, ab, bin, bist, hab, habt, hamma, hätte, hatte, gern, gerne, doch, dann, damit, wenn's, mit dem, aus, bis, seit, durch, ohne, gegen, würde, würdest, wollte, wollen, soll, sollte, sollen, muss, müssen, darf, dürfen, konnte, können, komme, komm, kommen, dich, dir, ihm, wem, wessen, deiner, deinem, unser, unsere, dies, diese, dieser, dieses, diesem, jene, solche, sehr, ganz, etwa, ungefähr, circa, ca, bald, später, früh, gleich, sofort, immer, oft, dort, dahin, hin, her, oben drauf, unterwegs, hallo zusammen, leute, freund, kumpel, mal eben, kurz, schnell, verfügbar, besten, bester, gut, gute, guter, tief, stark, groß, sichtbar, hinauf, runter, rauf, hoch, posten, streckenposten, kontrollposten, irgendwie, vielleicht, wohl, eben, halt, ja, aktuellen, weiter, wieder, egal, irgendeiner, irgendwelche, bläst, gehts, wieviel, hats, erreich, erreiche, sagt, isses, erst`,
  roles: {
    worried: 'sorgen, sorge, besorgt',
    extends:
      'verlängere, verlängern, verlänger, verschiebe, verschieben, verschieb, ändere, ändern',
    otherwise: 'sonst, ansonsten, andernfalls, wenn nicht, falls nicht',
    how: 'wie',
    booking:
      'buchen, buche, buch, gebucht, buchung, reservieren, reserviere, reserviert, reservierung, vorbestellen',
    ask: 'frag, frage, fragt, fragen, fragst',
    if: 'wenn, falls, sofern, außer, sollte ich',
    not: 'nicht, nix, nichts, kein, keine, keinen, nie, ned, net, nimmer, außer, ohne, ausbleibe, nischt',
    back: 'zurück, melde, melden, meld, gemeldet, daheim, heim, heimkomme, zuhause, gehört, höre, hört, hörst, unten, da, angekommen, wiederkomme, lebenszeichen, meldung, nachricht, zurückkomme, zurückbin, zurückgekommen, ankomme, eintreffe, wieder, erreichbar',
    others: 'er, ihm, ihn, seine, deren',
    tell: 'sag, sage, sagt, bescheid, verständige, verständigen, alarmiere, alarmieren, ruf, rufe, informiere, informieren, benachrichtige, benachrichtigen, warne, warnen, melde, gib, schreib, kontaktiere, anrufen, anfunken',
    tellMe:
      'sag mir, sag ma, sag bescheid, gib bescheid, gib mir bescheid, mir bescheid, bescheid geben, gib laut, melde dich, meld dich, melde mir, meld mir, benachrichtige mich, informiere mich, weck mich, schreib mir, schreib mich an, verständige mich, alarmiere mich, gib mir laut, rühr dich, funk mich an, ping mich, sags mir, sag mirs, möchte wissen, will wissen, sagst du mir, sagst mir, erinnere mich, warne mich, warn mich, wecke mich, sagt mir, gebt mir bescheid, sag uns, bescheid',
    when: 'wenn, sobald, falls, sowie, wann',
    past: 'zuletzt, war, wurde, hast, letzte',
    mine: 'mein, meine, meinen, meiner, meinem, unsere, mei, meina',
    message:
      'nachricht, nachrichten, mitteilung, mail, email, e mail, sms, msg, notiz, text, brief, zettel',
    delivered:
      'zugestellt, abgeholt, gelesen, bekommen, erhalten, empfangen, übermittelt, ausgeliefert, gekriegt, kriegt, rausgegangen',
    arrived:
      'angekommen, durchgekommen, durch, raus, weg, kam, an gekommen, kommt an, kam an, geworden, rübergekommen, verschickt, gesendet, geschickt, versendet, status, ankommen, gegangen, gesehen, wartet noch, verschwunden, hinterlegt',
    asks: 'ist, is, hat, hast, haben, war, wurde, kam, sind, hats, habt, hab, weißt du ob, was ist mit, was wurde, obs, ob',
    orNot: 'oder nicht, oder ned, oder net, oder nix',
    forMe: 'für mich, an mich, für uns',
    watch:
      'alarm, wache, rückkehrwache, überwachung, rückkehrüberwachung, überfällig, überfälligkeit, rückmeldung, wecker, alarmierung, aufpassen, auf mich aufpassen, auf mich warten, auf mich achten, mich überwachen',
    off: 'abbrechen, abstellen, ausschalten, aufheben, löschen, beenden, stopp, stop, aus, abblasen, streichen, abschalten, entwarnung, brich ab, lösch, stornieren, weg, abmelden, zurücknehmen, absagen, brauchts nicht mehr, nicht senden, doch nicht senden, nicht schicken, doch nicht schicken, nicht abschicken, nicht ausliefern, nicht zustellen, nicht mehr senden, nicht mehr, nicht mehr nötig, storniere, lösche, vergiss, zurückziehen, zieh zurück, brauche keine, kein bedarf',
    safe: 'bin zurück, wieder da, bin wieder da, wieder zurück, bin daheim, heil zurück, gut zurück, bin unten, sicher unten, wieder unten, gut unten, heil unten, bin zuhause, sicher zurück, gut angekommen, bin wieder unten, sind zurück, sind unten, wieder im tal, heil angekommen, wieder daheim, bin runter, bin in sicherheit, zurück im tal, zurück am auto, zurück in, zurück beim auto, wieder am auto',
    seen: 'gesehen, gesichtet, vorbeigekommen, vorbei gekommen, durchgekommen, vorbei, erreicht, am ziel, eingetroffen, vorbeigelaufen, vorbeigefahren, schon oben, schon unten, passiert, losgegangen, aufgebrochen, durch, schon durch',
    notice:
      'aushang, anschlag, ankündigung, bekanntmachung, anzeige, kleinanzeige, neuer aushang, pinnwand, am brett, fürs brett, ans brett',
    sale: 'zu verkaufen, verkaufe, biete, zu verschenken, verschenke, verkauf, vk, suche käufer',
    before: 'um, vor, nach, bis, gegen, ab',
    unwanted:
      'kein, keine, keinen, hör auf, aufhören, stopp, stop, abbestellen, abmelden, abschalten, ausschalten, abstellen, nicht mehr, genug, schluss mit, nie mehr, stoppe, beende, nichts mehr, nicht mehr',
    updates:
      'wetter, wx, wettermeldung, wettermeldungen, wetterwarnung, wetterwarnungen, wetterbericht, wetterberichte, wetterdaten, vorhersage, warnung, warnungen, alarm, alarme, meldung, meldungen, nachricht, nachrichten, mitteilungen, news, rundspruch, aushänge, bulletins, bake, baken, spam, infos, zeug, sachen, updates',
    everybody: 'an alle, für alle, allen, an alle stationen, an jeden, alle stationen',
    someone: 'jemand, wer, irgendwer, irgendjemand',
    left: 'hinterlassen, geschrieben, geschickt, dagelassen, gesendet, schickt, hinterlegt, hinterließ, sandte, schickte',
    let: 'lass, lasst, lasse, gib, lassen sie',
    that: 'wissen dass, wissen, bescheid dass, bescheid, dass',
    way: 'pass, passstraße, paßstraße, straße, straßen, weg, wege, wanderweg, steig, klettersteig, pfad, forststraße, brücke, tunnel, grat, übergang, joch, sattel',
    state:
      'offen, geöffnet, gesperrt, geschlossen, frei, begehbar, passierbar, befahrbar, geräumt, unpassierbar, verschüttet, verschneit, matschig, rutschig, sperre, wintersperre',
    again:
      'wiederhole, wiederholen, wiederholung, nochmal, noch mal, noch einmal, nochmals, wie bitte, was hast du gesagt, weiter',
    runner: 'startnummer, läufer, läuferin, teilnehmer, teilnehmerin, fahrer, nummer',
    lost: 'verirrt, verlaufen, mich verlaufen, uns verlaufen, mich verirrt, uns verirrt, orientierung verloren, weg verloren, weiß nicht wo ich bin, wissen nicht wo wir sind, finde den weg nicht, finden den weg nicht',
    cry: 'hilfe, helft, helft uns, helft mir, brauche hilfe',
    noEmergency:
      'kein notfall, kein notruf, nicht dringend, nicht verletzt, niemand verletzt, niemand ist verletzt, keiner verletzt, keine verletzten, keine rettung nötig, kein arzt nötig',
    presence:
      'anwesend, bin auf posten, ist auf posten, ist anwesend, sind anwesend, besetzt, bereit, auf posten, in position, ist besetzt',
    switching:
      'schalt, schalte, einschalten, ausschalten, anschalten, mach an, neustarten, starte neu, neu starten, licht an, licht aus, heizung an, heizung aus',
    returns:
      'zurück, wieder da, wieder zurück, daheim, zuhause, wieder daheim, zurueck, bin zurück',
  },
}
