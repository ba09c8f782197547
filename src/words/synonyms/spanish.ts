import type { LanguageSynonyms } from './language.js'

export const spanish: LanguageSynonyms = {
  language: 'es',
  strong: {
    help: `
      ayuda, comandos, comando, menú, qué puedes hacer, instrucciones, opciones, cómo funciona, órdenes, servicios,
      lista de comandos, qué sabes, qué haces, qué es esto, qué sabes hacer, qué comandos, cómo se usa, ayúdame, ayúdenme, ayuda por favor, funciones, qué puedo hacer, qué puedo pedir, qué puedo enviar, cómo funciona, cómo va esto, cómo uso esto, manual, guía, ejemplos, qué ofreces, qué servicios, eres un robot, eres humano, eres una máquina, eres un bot, eres una persona, es un robot, no entiendo, no comprendo, no lo entiendo`,
    repeaters: `
      repetidor, repetidores, repetidora, repetidoras, repe, repes, frecuencia, frecuencias, subtono, desplazamiento, tono, frecuencia de llamada, canal de llamada, lista de repetidores, frecuencia de entrada, repetidor cercano, reemisor, reemisores, tonos, puedo alcanzar, a qué llego, puedo abrir, puedo activar`,
    conditions: `
      qué temperatura,
      clima, meteo, temperatura, viento, lluvia, humedad, presión, llueve, meteorología, qué tiempo,
      qué tiempo hace, el tiempo, condiciones, frío, hace frío, rachas, nieve, tormenta, grados, calor, niebla, visibilidad, truenos, rayos, nubes, nublado, nieva, nevando, lloviendo, granizo, hielo, helada, tormentas, ventoso, chubascos, qué tal el tiempo, qué tal tiempo, velocidad del viento, dirección del viento, seco, mojado, soleado, llovizna, nevada, ventisca, tiempo arriba, cómo está el tiempo, cómo está el clima, cómo está arriba, sensación térmica, barómetro, presión atmosférica, climatología, está nublado, hace sol, hace viento, hace calor, meteorológico, wx, chubasco, aguacero, agua caída, agua ha caído, lluvia caída, lluvia ha caído, nieve caída, nieve ha caído, ha llovido, ha nevado, bruma, helado, helar, hiela, hace buen, hace bueno, hace mal`,
    pass: 'satélite, satélites, pase, pases, paso, pasada, pasadas, órbita',
    'pass next': 'próximo pase, próximo satélite, siguiente pase, próximos pases, próximo paso',
    'pass iss': 'estación espacial, eei',
    sun: `
      sol, puesta de sol, puesta del sol, salida del sol, salida de sol, amanecer, atardecer, anochecer, ocaso,
      orto, anochece, amanece, crepúsculo, alba, puesta, oscurece, luz de día, luz, cuánta luz, se pone el sol, sale el sol, de noche, se hace de noche, hora dorada, se oculta el sol, hora del ocaso, horas de luz, cuándo oscurece, hasta cuándo hay luz, duración del día, se pone, se mete el sol, salida sol, puesta sol, hora azul, anochecerá, amanecerá`,
    'sun moon': `luna, luna llena, luna nueva, fase lunar, fase de la luna, luna creciente, luna menguante, cuarto creciente, cuarto menguante, salida de la luna, puesta de la luna, sale la luna`,
    heard: `
      oído, oídos, oídas, escuchados, escuchadas, escuchado, escuchada, estaciones, quién está, quién hay,
      hay alguien, alguien, quiénes están, últimas estaciones, a quién oyes, quién se oye, indicativos,
      alguien ahí, última vez, has oído, has escuchado, quién más, quién está activo, viste a, has visto a, en el aire, en frecuencia, en la frecuencia, quién escucha, quién me oye, quién transmite, lista de estaciones, últimos escuchados, hay gente, alguien por ahí, alguien en frecuencia, está activo, está activa, quién anda, se ha oído, estaciones activas, última vez que, oíste, oiste, has oído, oíste a`,
    'where me': `
      dónde estoy, mi posición, mi ubicación, mi localizador, posición, ubicación, mis coordenadas, coordenadas,
      mi locator, mi qth, me he perdido, estoy perdida, qth mío, mi qth, posición mía, locator mío`,
    'where node': `
      dónde estás, tu posición, tu ubicación, quién eres, tu locator, dónde está usted, tu qth, cómo te llamas, dónde está el nodo, con quién hablo, qué estación, tu indicativo, su indicativo, cuál es tu indicativo, indicativo, tu nombre, qué nodo, qué estación es, quiénes son, quién habla, dónde está el repetidor este, desde dónde transmites, quién te, quién lleva, quién gestiona, quién te hizo, de quién es, quién mantiene, quién opera`,
    where: `dónde está, dónde, dónde se encuentra, distancia, a qué distancia, qué distancia, cuánto hay hasta, queda lejos, lejos, dónde queda, en qué dirección, qué dirección, dirección a, dirección, cómo llego a, cómo voy a, rumbo a, rumbo, cuántos km, camino a, ubicación de, a cuánto está, a cuánto queda, cómo ir a, por dónde se va a, cuánto falta para, cuánto falta hasta`,
    signal: `
      señal, mi señal, reporte, informe, me oyes, me escuchas, me copias, cómo me recibes, cómo me oyes,
      cómo llego, recepción, calidad, reporte de señal, me recibes, cómo me copias, modulación, control de señal, me recibes bien, se me oye, se me escucha, cómo me escuchas, cómo se me oye, fuerza de señal, legibilidad, potencia, me reciben, me oyen, cómo me reciben, qué señal, qué señal tengo, me recibe, me oye, se oye, me lees, me copian, llego bien, cómo salgo, cómo modulo, mi audio, mi modulación, salgo bien, se me copia, copias, me captas, nivel de señal, intensidad de señal, intensidad, cómo te llego, qué tal llego, qué tal te llego, qué tal me copias, soy legible, control de recepción`,
    leave: `
      mensaje para, mensaje a, dejar, deja, dejar mensaje, deja mensaje, dile a, decir a, deja un mensaje,
      enviar a, recado para, msg para, avisa a, avisar a, escribe a, envía a, manda a, dígale a, msj para, msj a, enviar mensaje, enviar un mensaje, manda mensaje, manda un mensaje, mandar mensaje, mandar un mensaje, dejo un mensaje, escribir mensaje, escribir un mensaje, mensaje para, decirle a, dígale, dile, comunica a, comunícale a, pásale a, recado a, nota para, aviso para, avísale a, saludos a`,
    collect: `
      correo, mensajes, mis mensajes, mi correo, buzón, recoger, tengo mensajes, hay mensajes, mensajes nuevos,
      correos, leer mensajes, leer correo, recados, algo para mí, hay correo, recoger mensajes, alguien me escribió, msj, msjs, mensaje para mí, un mensaje para mí, me han escrito, me escribió alguien, alguien me ha escrito, revisar buzón, ver mensajes, ver mis mensajes, mensajes pendientes, alguien me ha buscado, me ha buscado, me buscan, me ha llamado, alguien me llamó, preguntado por mí, bandeja de entrada, correo nuevo, recibir mensajes, leer mis mensajes, recado para mí, recados para mí, nota para mí, aviso para mí`,
    reply: 'responder, responde, respuesta, contestar',
    mail: `mensajes enviados, mis mensajes enviados, llegó mi mensaje, qué fue de mi mensaje, retirar mensaje, retirar mi mensaje`,
    back: 'vuelta a, vuelvo a las, regreso a, regreso a las, de vuelta a las, vigilancia',
    tell: 'avísame cuando, dime cuando, avisame si',
    board: `
      qué hay de nuevo, qué novedades,
      tablón, anuncios, aviso, avisos, noticias, novedades, tablero, boletín, boletines, tablón de anuncios, anuncio, algo nuevo, qué pasa, eventos, reunión, actividades, agenda, evento, comunicados, comunicado, qué hay nuevo, qué está pasando, noticias del club, últimas noticias`,
    post: 'publicar, publica, anunciar',
    find: 'buscar, busca, encontrar, información sobre, info sobre, temas, busco',
    'find emergency': `
      emergencia, socorro, auxilio, rescate, accidente, médico, hospital, herido, urgencia, ayuda médica, médica, herida, pierna rota, sangra, golpe de calor, insolación, mordedura, mordedura de serpiente, víbora, ambulancia, bomberos, policía, urgente, me caí, caído, inconsciente, infarto, avalancha, me he caído, roto la pierna, 112, 911, emergencias, número de emergencia, se cayó, se ha caído, caída, rompí la pierna, me rompí, fractura, esguince, sangre, sangrando, atrapado, atrapados, atascado, helicóptero, evacuación, accidentado, accidentada, necesito ayuda, necesitamos ayuda, ayuda urgente, hipotermia, desmayado, mal de altura, mordedura, mordido, picadura de serpiente, rcp, reanimación, no respira, sos, lesionado, lesión, perdido en la montaña, quemadura, quemaduras, quemado, quemada, hemorragia, se ha caído, se cayó, no responde, no se mueve, no reacciona, desmayado, desmayada, se desmayó, niño perdido, niña perdida, desaparecido, desaparecida, estamos bloqueados, estoy bloqueado, dolor en el pecho, dolor de pecho, no puede respirar, se ahoga, electrocutado`,
    clock: `
      hora, qué hora, qué hora es, reloj, fecha, hora utc, la hora, locator, localizador, cuadrícula, qué día, qué fecha, hora exacta, la fecha, fecha de hoy, hora local, hora actual, qué hora tienes, día es hoy, hora mundial`,
    'conditions forecast': `llover, va a llover, lloverá, nevar, pronóstico, previsión, hará frío, hará calor, qué tiempo hará, tiempo hará, va a nevar, va a hacer, probabilidad de lluvia, predicción, llueve mañana, se espera lluvia, va a haber tormenta, va a hacer frío, va a hacer calor, va a hacer sol, va a helar, helará`,
    roll: `lista de presentes, quién falta, quiénes faltan, pasar lista`,
    confirmed: `quién lo tiene, quién ha confirmado, quién confirmó`,
    'bulletins objects': `objetos`,
  },
  weak: {
    conditions: 'tiempo, fuera',
    repeaters: 'más cercano, más cercanos, más cerca, canal, cerca, cercano, cercanos, próximo',
    heard: 'quién, lista',
    collect: 'mensaje, leer, para mí',
    find: 'info, información, tema',
    help: 'cómo, qué',
    sun: 'día, noche, oscuro',
    'where me': 'perdido',
  },
  greetings: `
    hola, buenos días, buenas tardes, buenas, saludos, prueba, probando, prueba de radio, hola a todos, qué tal,
    buen día, control de radio, prueba prueba, atento, adelante, estás ahí, estás, están ahí, hay alguien hola, mensaje de prueba, esto es una prueba, es una prueba, solo una prueba, sólo prueba, prueba de mensaje, prueba de audio, uno dos tres, funciona, funciona esto, esto funciona, me oye alguien hola, llamada general, a todas las estaciones, hola buenas, muy buenas, qué hay, cómo estás, cómo va, holi, ey, hey, aló, test, saludos a todos`,
  thanks: `
    gracias, muchas gracias, adiós, hasta luego, hasta pronto, buenas noches, vale, recibido, de acuerdo,
    entendido, perfecto, fin, sí, bien, muy bien, chao, cambio, un saludo, nos vemos, mil gracias,
    cancela, grax, grcs, mil gracias, muchísimas gracias, gracias por todo, gracias amigo, se agradece, agradecido, hasta la vista, hasta mañana, cuídate, buen día 73, ok gracias, okey, okay, dale, genial, estupendo, excelente, fenomenal, mensaje recibido, copiado, afirmativo, negativo, todo bien gracias, todo bien, de nada, correcto, listo, cambio y corto, cambio y fuera, corto, fuerte abrazo, un abrazo, abrazos, todo ok, todo en orden, estoy bien, todo va bien, sin novedad, estamos bien, ahora no, luego, más tarde`,
  cancel: `cancelar, cancela, parar, para ya, detener, para, basta, no envíes más, alto, deja de enviar, no más, deja de mandar, no envíes, no mandes más, deja de, déjalo, olvídalo, ya basta, anular, anula, silencio, cállate, borrar, suficiente, ya está bien, déjame en paz, déjame tranquilo, no contestes, no respondas, no responder, no contestar, déjenme en paz, número equivocado, me equivoqué de número`,
  arguments: {
    today: 'hoy, ahora',
    tonight: 'esta noche, esta tarde',
    tomorrow: 'mañana',
    overmorrow: 'pasado mañana',
    next: 'próximo, próxima, próximos, siguiente',
    all: 'todos, todas, todo, toda',
    me: 'yo, mí',
    here: 'aquí, acá, aki',
    node: 'tú, usted, nodo',
    more: 'más',
    days: 'días',
    sat: 'fin de semana',
    hours: 'horas',
  },
  numbers: 'dos, tres, cuatro, cinco, seis, siete, ocho, nueve, diez',
  weekdays: 'domingo, lunes, martes, miércoles, jueves, viernes, sábado',
  months: `
    enero/ene, febrero, marzo, abril/abr, mayo, junio, julio, agosto/ago, septiembre/setiembre, octubre,
    noviembre, diciembre/dic`,
  topics: {
    water:
      'agua, agua potable, fuente, grifo, manantial, sed, llenar la botella, llenar la cantimplora, beber',
    food: 'comida, comer, cena, cenar, almuerzo, desayuno, cocina, hambre, restaurante, avituallamiento, se come, comen',
    camp: 'tienda, tienda de campaña, acampar, acampada, camping, vivac, poner la tienda',
    bed: 'cama, camas, dormir, alojamiento, litera, pernoctar, albergue, refugio, cabaña',
    bus: 'autobús, bus, autocar, horario del autobús, parada, lanzadera, horarios',
    aid: 'primeros auxilios, botiquín, enfermería, tirita, puesto de socorro, ampolla',
    toilet: 'baño, baños, aseo, aseos, servicios, ducha, duchas, lavabo',
    power: 'enchufe, cargar el móvil, cargador, recargar, cargar, corriente, enchufe',
    parking:
      'aparcamiento, aparcar, estacionamiento, estacionar, aparco, aparcar el coche, parking',
    path: 'sendero, camino, ruta, desvío, mapa, camino cerrado',
    avalanche:
      'riesgo de avalancha, riesgo de avalanchas, peligro de aludes, riesgo de aludes, peligro de avalanchas, parte de aludes, aludes, boletín de aludes',
    net: 'rueda, rueda de radio, ruedas',
  },
  putting:
    'poner, pon, publicar, escribir, colgar, dejar, añadir, hacer, pegar, anota, anotar, anote, apunta, apuntar, escribe, cuelga, publica, añade',
  sending:
    'decir, decirle, avisar, escribir, envía, enviar, manda, mandar, dile, di, avisa, escribe, llama, pasa, comunica, envíes, envíe, envíen, mandes, mande, digas, diga, enviarme, mandarme',
  bands: 'setenta, metro/metros, centímetro/centímetros',
  ignored: `
    de paso, sino, precio, precios, cuesta, cuestan, vale, mucho,    por favor, porfa, el, la, los, las, lo, un, una, unos, de, del, y, o, es, son, está, están, hay, qué, cuál,
    cuáles, cuándo, cómo, quién, dónde, a, al, en, con, para, por, sobre, cerca, cercano, cercanos, cercana, más,
    me, mi, mí, mis, tu, te, yo, se, dime, dame, da, dar, muestra, envía, quiero, quisiera, necesito, puedes,
    puede, podría, hace, hacer, aquí, ahí, ahora, hoy, actual, actuales, lista, gracias, hola, próximo, próxima,
    pasa, pone, sale, tiempo, hora, cuánto, cuánta, tengo, tiene, queda, estación, va, saber, ver, zona,
    alrededor, si, que, cuáles, estás, estoy, eres, soy, fue, era, muy, ya, también, pero, donde, esto, esta, este, ese, esa, eso, algún, alguna, algo, cada, hasta, desde, entre, sin, uso, usa, usar, favor, momento, arriba, abajo, cumbre, buenas, buenos, quisiera, saber, conocer, otro, otra, otros, mandar, enviar, anda, andan, pasan, pasará, pasarán, salen, quedan, quedo, falta, tenéis, tienen, tienes, tienen, hay algo, he, has, ha, han, hemos, había, habrá, sea, sean, será, serán, sería, estaba, estaban, estamos, puedo, podéis, podemos, pueden, podrías, queremos, quieres, quiere, necesitamos, debo, debe, tengo que, hasta luego, nuestro, nuestra, su, sus, vuestro, ella, ellos, nosotros, vosotros, ustedes, usted, lo que, cual, cuales, cuyo, aquel, aquella, estos, estas, esos, esas, todavía, aún, aun, siempre, nunca, luego, pronto, tarde, temprano, rápido, rápidamente, aproximadamente, exacto, exacta, mejor, buen, buena, gran, visible, disponible, última, último, amigo, amigos, compañero, colega, tío, sabes, sabe, sé, encuentro, encuentra, llego, llegar, voy, vamos, ir, ser, tener, haber, cualquiera, da igual, x, xfa, cuantos, lleva, hacia`,
  roles: {
    worried: 'preocupado, preocupada, preocupados, preocupa',
    extends: 'retrasa, retrasar, amplía, ampliar, alarga, cambia, cambiar, prolonga, aplaza',
    otherwise: 'si no, sino, de lo contrario, en caso contrario',
    how: 'cómo',
    booking: 'reservar, reserva, reservo, reservación, reservado',
    ask: 'pregunta, pregúntale, preguntale, preguntad, preguntar',
    if: 'si, en caso de, a menos que, salvo que, caso de',
    not: 'no, sin, nada, nunca, ninguna, ningún, a menos que, salvo que, sin noticias',
    back: 'vuelto, vuelvo, vuelva, volver, regreso, regresado, regrese, llegado, llego, llegue, noticias, oído, oyes, señal, señales, contesto, respondo, bajado, de vuelta, reporto, reportado, comunicado, aparezco, doy, dado, vida, estoy, aviso, abajo, oye',
    others: 'ella, ellos, ellas',
    tell: 'avisa, avisar, avise, avisen, llama, llamar, llame, alerta, alertar, alerte, dile, di, decir, dígale, informa, informar, contacta, manda, comunica, avísale, notifica',
    tellMe:
      'avísame, avisame, dime, avíseme, infórmame, notifícame, hazme saber, házmelo saber, me avisas, me dices, alértame, quiero saber, avisarme, dímelo, me avisáis, avísanos, decirme, mándame un aviso, avisadme, me avisa, llámame, me notificas, recuérdame, despiértame, adviérteme, me avise, avisa me, alerta me',
    when: 'cuando, en cuanto, apenas, si, tan pronto, nada más, cdo, qdo, una vez',
    past: 'última, último, fue, ha sido, has',
    mine: 'mi, mis, nuestro, nuestra',
    message:
      'mensaje, mensajes, msj, msjs, recado, recados, nota, correo, email, mail, e mail, sms, msg, aviso',
    delivered:
      'recibió, recibido, leyó, leído, entregado, entregó, recogido, recogió, recibieron, leido, entregaron, retirado',
    arrived:
      'llegó, llegado, salió, salido, pasó, enviado, mandado, sido, fue, llega, estado, visto, perdido, sigue esperando, llegaron, enviaron, vio, le llego, llego',
    asks: 'ha, has, le llegó, le llego, llegó, llego, han, fue, recibió, recibio, leyó, leyo, se sabe si, sabes si, qué fue de, qué pasó con, está, ya le, se entregó, se entrego, salió, salio, está entregado',
    orNot: 'o no, o todavía no',
    forMe: 'para mí, a mí, para mi, para nosotros',
    watch:
      'alarma, vigilancia, alerta, aviso de retraso, temporizador, aviso de las, aviso de retraso, vigilarme, vigilar, esperarme, vigilándome',
    off: 'quita, quitar, quite, cancela, cancelar, anula, anular, apaga, apagar, para, parar, desactiva, desactivar, elimina, eliminar, borra, borrar, retira, retirar, cancele, detén, borre, olvida, olvide, olvidar, no envíes, no mandes, no enviar, no mandar, ya no hace falta, no hace falta, ya no necesito, ya no es necesario, no es necesario',
    safe: 'he vuelto, e vuelto, ya volví, ya volvi, ya estoy de vuelta, estoy de vuelta, he llegado bien, llegué bien, llegue bien, estoy abajo, ya he bajado, ya estoy abajo, hemos vuelto, ya llegamos, sano y salvo, sanos y salvos, estoy en casa, ya en casa, he bajado, he regresado, ya regresé, a salvo, estoy bien abajo, de regreso, de vuelta en, de vuelta al, de vuelta en el coche, de vuelta a casa',
    seen: 'visto, viste, vieron, pasar, pasado, llegado, avistado, pasó, salido, alcanzado, pasado por',
    notice: 'anuncio, aviso, comunicado, cartel, nuevo anuncio, en el tablón',
    sale: 'vendo, se vende, en venta, regalo, se regala, vendemos, a la venta',
    before: 'las, antes, sobre, hasta, a, después',
    unwanted:
      'no, no más, deja de, dejen de, para de, basta de, basta, quita, desactiva, cancela, sin, nada de, ya no, no quiero, no quiero más, stop, suficiente, deja de, dejad de, ya no',
    updates:
      'tiempo, clima, meteo, parte, pronóstico, previsión, alerta, alertas, aviso, avisos, mensaje, mensajes, msj, noticias, boletín, boletines, anuncios, baliza, balizas, spam, notificaciones, informes, actualizaciones, cosas',
    everybody:
      'a todos, a todas, para todos, a todo el mundo, todo el mundo, a todas las estaciones, para todo el mundo',
    someone: 'alguien, quién, alguno',
    left: 'dejó, dejado, dejo, escrito, escribió, enviado, mandado, mandó, envió, dejé, deje, mandé, mande, envié, envie, escribí, escribi',
    let: 'haz saber, hazle saber, haga saber, hacer saber, dale, hágale saber',
    that: 'saber que, que',
    way: 'paso, puerto, puerto de montaña, collado, carretera, carreteras, camino, sendero, senda, ruta, pista, puente, túnel, ferrata, cresta',
    state:
      'abierto, abierta, abiertos, cerrado, cerrada, cerrados, cortado, cortada, transitable, intransitable, bloqueado, bloqueada, despejado, despejada, nevado, resbaladizo, embarrado, accesible, practicable',
    again:
      'repite, repita, repetir, repítelo, otra vez, de nuevo, sigue, qué dijiste, qué has dicho, una vez más, más, reenvía, cómo dices',
    runner: 'dorsal, corredor, corredora, participante, número',
    lost: 'estoy perdido, estoy perdida, estamos perdidos, estamos perdidas, me he perdido, nos hemos perdido, me perdí, nos perdimos, perdido el camino, perdido el sendero, no sé dónde estoy, no sabemos dónde estamos',
    cry: 'ayuda, ayúdenme, ayúdame, ayúdennos, socorro, auxilio',
    noEmergency:
      'no es una emergencia, no es emergencia, no hay emergencia, ninguna emergencia, no es urgente, nada urgente, sin heridos, no hay heridos, nadie herido, nadie está herido, no estoy herido, no estoy herida, no hace falta rescate',
    presence:
      'presente puesto, presente en, presentes en, está presente, en posición en, en posición, en puesto, listo, lista, en su sitio',
    switching:
      'enciende, encender, encienda, apaga, apagar, apague, prende, reinicia, reiniciar, activa el repetidor, activa el relé, activa la alarma',
    returns:
      'vuelvo, de vuelta, regreso, estaré de vuelta, volveré, regresaré, volver, vuelto, volvió, volvio, regresado, vuelven',
  },
}
