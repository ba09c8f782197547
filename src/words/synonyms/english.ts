import type { LanguageSynonyms } from './language.js'

export const english: LanguageSynonyms = {
  language: 'en',
  strong: {
    help: `
      commands, menu, usage, options, services, what can you do, how to use, how do i use, what can i ask,
      instructions, manual, what do you do, what can you tell me, what is this, how does it work, what commands, info about you, what do you know, what else, what do you offer, what do you have, can you help, help me with, features, functions, capabilities, what can i send, what can i do, what should i send, what do i send, what do i do, what now, how do i use this, how do i use it, how does this thing work, list of services, what services, is there a manual, examples, guide, tutorial, faq, who can help, main menu, are you a robot, are you a bot, are you human, are you a human, are you real, are you a machine, is this a bot, is this a robot, are you a computer, are you a person, is anyone real there, i dont understand, dont understand, do not understand, how does this thing, is this a real person, real person, is this a person, is this automatic`,
    repeaters: `
      repeater, rep, rptr, rptrs, rpt, rpts, rpter, relay, relays, repeater list, frequency,
      frequencies, freq, freqs, qrg, tone, ctcss, pl tone, machine, machines, access tone, shift, offset, calling frequency, calling freq, calling channel, voice channel, repeater frequency, input frequency, output frequency, duplex, can i hit, could i hit, can i reach, can i bring up, can i open, can i key up, talk group, colour code, color code, input, output freq, input freq, access code`,
    'repeaters echolink': `echolink, echo link, eco link, irlp, allstar`,
    conditions: `
      weather, wx, temp, temperature, temps, wind, rain, raining, humidity, pressure, barometer, met,
      meteo, how cold, how warm, how hot, is it cold, is it windy, condition, gust, gusts, windy, snow, cold,
      storm, tmp, fog, foggy, mist, visibility, thunder, thunderstorm, thunderstorms, lightning, clouds, cloud, cloudy, sunny, snowing, ice, icy, hail, dew point, whether report, hot, warm, weathr, condx, conds, blowing, chilly, freezing, wxr, wind direction, wind speed, dewpoint, dry, wet, whats it like, like outside, like up there, like up here, outside like, nice out, drizzle, sleet, degrees, celsius, fahrenheit, rain fell, rain has fallen, rain fallen, snow has fallen, snow fallen, snow fell, rainfall, snowfall, feels like, frost, blizzard, breezy, muggy, overcast, sunshine, heat, barometric, air pressure, meteorology, climate, thaw, thawing, slippery, freeze, freezes, frosty, windchill, wind chill, wx report`,
    pass: `sat, sats, satellite, satellites, passes, orbit, oscar, amsat, birds, cubesat, flyover, fly over, overpass, spacecraft`,
    'pass iss': 'iss, space station',
    sun: `
      sunset, sunrise, sunup, sundown, daylight, dusk, dawn, twilight, nightfall, light left, get dark, gets dark,
      getting dark, ss, sr, last light, first light, hours of light, daylight left, how long is it light, light enough, golden hour, blue hour, get light, gets light, getting light, when is it light, day length, length of day, sun go down, sun come up, sun goes down, sun comes up, light until, how long till dark, before dark, till dark, until dark, daybreak, civil twilight, evening light`,
    'sun moon': `moon, moonrise, moonset, moonlight, full moon, new moon, moon phase, lunar, moons, moonphase, lunar phase, moon set`,
    heard: `
      mheard, mh, stations, who is on, whos on, who is there, who is around, anyone on, anybody on, anyone there,
      anybody there, anyone around, last heard, who did you hear, who have you heard, who was heard, who is near,
      who is out there, stations heard, heard list, activity, whos about, who is about, who else, who is out, whos out, whos there, last time, did you hear, have you heard, last seen, been on, been heard, any sign of, sign of, on the air, on frequency, on freq, whos listening, who is listening, anybody listening, anyone listening, on channel, active stations, roster of stations, who checked in, who called in, been on today, any1 on, any1 there, who is active, whos active`,
    'where me': `
      where am i, my position, my location, my pos, my grid, my locator, position, pos, my qth, my coordinates,
      coordinates, gps, am i lost, how far am i, whereami, whats my qth, where im i, where i am, im lost, i am lost, we are lost, lost, my posn, posn, my whereabouts, where on earth am i, what grid am i in, grid am i in, qth me, qth mine, grid of mine`,
    'where node': `
      where are you, your position, your location, your grid, your qth, your locator, qth, who are you,
      how far are you, what are you, where r u, who r u, where are u, who are u, ur qth, ur position, ur location, your name, whats your name, where is the node, where is this node, talking to, who am i talking to, which station is this, this station, what station, which node, what node, node name, your callsign, your call sign, your call, ur call, ur callsign, callsign, call sign, who is this, whos this, who r u, how far away are you, which repeater site, where is this, whats this station, who made you, who built you, who runs, who owns, who operates, who set you up, whose node, whose station, who is behind, who is running, who is in charge, whos in charge, who runs this`,
    signal: `
      signal report, report, rst, rs, rprt, quality, how do you hear me, how am i, do you hear me, can you hear me,
      hear me, how copy, do you copy, rssi, snr, my signal, sig, deviation, my audio, how do i sound,
      signal strength, s meter, copy me, did you copy, do u copy, do you read me, getting through, am i readable, audio check, audio, how am i doing, how am i coming in, how do i come in, readability, 59, 599, 5/9, mic check, how is my transmission, hearing me, u hear me, loud and clear, receiving me, receive me, reading me, read me, hearing ok, copying me, am i heard, am i audible, audible, sig report, sig rpt, signal rpt, my strength, copy, am i making it, making it in, am i in, am i getting in, getting in, how strong am i, over deviating, too loud, am i clear, rx report, check my signal, test my signal, 5 by 9, five by nine`,
    leave: `
      message for, message to, msg for, msg to, tell, send to, mail to, text to, note for, sms, please tell, say to, pass message to, forward to, write to, relay to, text, pass on to, say hello to, send message, send a message, send msg, leave message, leave msg, leave note, note to, write message, send a text, pass message, pass msg, pass on message, get message to, get word to, send word to, let know, say hi to, message 2, msg 2, leave word, leave word for, leave word with`,
    collect: `
      anything something for me, got anything for me, is there anything for me,
      mails, mailbox, messages, msgs, inbox, my mail, my messages, any mail, any messages, any message,
      get mail, got mail, have mail, read mail, check mail, check messages, email, new messages, voicemail, retrieve, for me, anything waiting, waiting for me, did anyone write, my msgs, pick up, got anything, is there a message, a message for me, 4 me, did anybody write, has anyone written, anyone write me, anything come in for me, qtc, anyone looking for me, anybody looking for me, been looking for me, looking for me, tried to reach me, asked for me, been calling me, called me, pick up messages, pending messages, my post, incoming messages, unread, note for me, text for me, my box, message box, any replies, replies`,
    reply: `answer him, answer her, reply to last, respond, reply to him, reply to her, write back, answer back`,
    mail: `sent messages, my sent messages, what did i leave, what became of my message, was my message delivered, did my message arrive, message status, withdraw, withdraw message, withdraw my message, take back my message`,
    back: 'overdue, overdue watch, back by, due back, watch for me',
    tell: 'tell me when, let me know when, notify me when, alert me when, watch for',
    board: `
      notices, bulletin, bulletins, news, notice, noticeboard, notice board, board list, announcements, bbs,
      whats new, whats on, read board, posts, anything new, any news, whats happening, what is new, what is happening, latest, club news, events, whats going on, going on, happening, anything happening, whats up there, announcement, events, event, meeting, meetings, club meeting, activities, programme, newsletter`,
    post: `publish, put on board, put on the board, announce`,
    'find emergency': `
      emergency numbers, emergency number, emergency phone,
      sos, mayday, emergency, rescue, mountain rescue, ambulance, doctor, hospital, police, injured,
      accident, medical, medic, broken leg, broken arm, bleeding, hurt, need a doctor, paramedic, fire brigade, urgent, i fell, broke my, broken my, broken arm, broken ankle, broke arm, broke leg, twisted, snake bite, snakebite, adder bite, tick bite, heat stroke, heatstroke, sunstroke, bitten, cpr, resuscitation, not breathing, stopped breathing, heart attack, unconscious, hypothermia, avalanche, trapped, stuck, send help, get help, we need help, is broken, leg broken, arm broken, help me please help, someone fell, has fallen, fell down, fell off, man down, call 911, call 112, call 999, 911, 112, 999, we fell, fallen, concussion, cant walk, cannot walk, need rescue, need medical, medical help, heart, stroke, chest pain, allergic, dying, drowning, frostbite, sprained, dislocated, burned, casualty, wounded, evacuate, evacuation, helicopter, snake bit, bit me, bitten by, got bitten, burn, burns, scald, scalded, severe burn, bleed, collapsed, has collapsed, not responding, unresponsive, passed out, fainted, has fainted, chest pains, not moving, isnt moving, isnt responding, doesnt respond, wont wake up, severe pain, child missing, missing child, missing person, someone missing, seizure, anaphylaxis, choking, cant breathe, cannot breathe, struck by lightning, electric shock`,
    find: `
      search, lookup, look up, info on, info about, information about, information on, tell me about, topics,
      cards`,
    clock: `
      utc, gmt, zulu, what time, what time is it, time now, utc time, local time, date, the time, what day,
      time please, qtr, locator, grid, gridsquare, grid square, maidenhead, what day is it, which day, todays date, what date, clock please, exact time, whats the time, timecheck, time check, clock time, current time, what year, the date, tell the time, oclock`,
    where: `where is, wheres, distance to, how far is, how far to, locate, how far away is, how far to, bearing to, bearing, direction to, way to, track, whereabouts, which way, which way to, way is, how do i get to, how to get to, heading to, azimuth, whereis, what direction, route to, how far`,
    'conditions forecast': `forecast, weather forecast, will it rain, will it snow, going to rain, going to snow, is it going to, will be the weather, weather be, wx forecast, outlook, fcst, fcast, forcast, forecasts, prognosis, chance of rain, later today, gonna rain, gonna snow, weather for the weekend, next few hours, coming days, will it freeze, going to freeze, freeze tonight, coming storm, storm coming, snow coming, rain coming, gonna storm, going to storm, will it storm, gonna freeze`,
    roll: `roll call, who is missing, whos missing, missing stations, who has not been heard`,
    confirmed: `who has it, who got it, who has confirmed, who confirmed`,
    'bulletins objects': `objects, objects heard, items`,
  },
  weak: {
    leave: 'let, inform, notify',
    repeaters: `near, nearby, local, nearest, closest, pl, simplex, channel`,
    pass: 'bird, space',
    heard: `who, anyone, anybody, seen, hrd, list, stn, stns, callsigns, when was, when did`,
    clock: 'time',
    sun: 'dark, light',
    'where me': `location, loc, lost`,
    signal: `radio check, sound, sound, hear`,
    collect: 'message, msg, read, inbox, for me',
    find: 'info, information, about, topic, card',
    help: 'hlp, hepl, how',
  },
  greetings: `
    hello, hi, hey, hallo, good morning, good afternoon, good evening, good day, greetings, ping, test, testing,
    radio check, check, cq, qrv, on air, qrz, qsl, hello world, test test, beacon, roger, hiya, morning, pong,
    aloha, check in, checkin, how are you, how do you do, anyone home, helo, gm, ga, ge, gd, hey there, yo, howdy, gm om, gd day, hiya, radio test, mic test, sound check, are you there, you there, anybody there hello, is this working, is this on, is this thing on, does this work, are you working, are you on, are you alive, alive, gday, g day, evening, afternoon, evening all, this is a test, test message, test msg, just a test, only a test, test only, testing only, just testing, ignore this, test packet, test beacon, hello test, echo, hello all, hi all, hi there, hello there, hey all, good day all, sup, wassup, whats up, nice to meet you, first contact, first time here, calling, calling any station, any station, come in, do you copy hello, qso, cqd`,
  thanks: `
    thanks, thank you, thx, tnx, tks, ty, cheers, 73, 73s, 88, bye, goodbye, good bye, good night, ok, okay,
    great, cool, nice, cu, cul, see you, thank you very much, tu, sk, lol, gn, got it, yes, no, end,
    nothing, received, copied, rr, qru, well done, thank u, thanx, thnx, thnks, thankyou, tysm, tyvm, much obliged, obliged, many thanks, see ya, cya, c u, laters, later, that worked, it works, it worked, awesome, perfect, excellent, brilliant, good job, great job, nice one, copy that, roger that, wilco, 10 4, 10-4, message received, msg received, much appreciated, appreciated, all good, no problem, np, no worries, good bot, good stuff, sounds good, understood, noted, affirmative, negative, over and out, out, signing off, end of test, fb, fb om, tnx om, 73 om, 72, lovely, wonderful, fantastic, love it, very good, ok thx, all ok, all fine, all is well, all well, all good here, im ok, i am ok, im fine, i am fine, everything ok, everything fine, everything is fine, alls well, not now, maybe later`,
  cancel: `cancel, stop, quit, exit, abort, never mind, enough, stop sending, stop sending me, no more, no more messages, unsubscribe, leave me alone, be quiet, shut up, stop that, stop it, nvm, nevermind, forget it, scratch that, disregard, ignore that, dont send, do not send, enough already, stop repeating, no thanks stop, go away, delete, undo, dont answer, do not answer, dont reply, do not reply, stop answering, stop replying, leave me in peace, wrong number, sorry wrong number`,
  arguments: {
    today: 'today, now, 2day',
    tonight: 'tonight, this evening, 2nite, tonite',
    tomorrow: 'tomorrow, tmrw, tomorow, tommorow, tommorrow, tmr, tomoro, 2morrow, 2moro, tomorow',
    overmorrow: 'day after tomorrow, overmorrow',
    next: 'next, any',
    all: 'all, every, everything',
    me: 'me, myself',
    here: 'here',
    node: 'you, node, yourself',
    more: 'more',
    days: 'days',
    sat: 'weekend',
    hours: 'hours, hrs',
  },
  numbers: 'two/couple, three, four, five, six, seven, eight, nine, ten',
  weekdays: `
    sunday/sun, monday/mon, tuesday/tue/tues, wednesday/wed, thursday/thu/thur/thurs, friday/fri, saturday/sat`,
  months: `
    january/jan, february/feb, march/mar, april/apr, may, june/jun, july/jul, august/aug, september/sep/sept,
    october/oct, november/nov, december/dec`,
  topics: {
    water:
      'water, drinking water, spring, tap, fountain, bottle, thirsty, fill my bottle, refill, drink, to drink',
    food: 'food, meal, lunch, dinner, breakfast, kitchen, eat, hungry, restaurant, canteen',
    camp: 'camp, camping, campsite, tent, pitch a tent, bivouac, pitch',
    bed: 'bed, beds, sleep, bunk, overnight, accommodation, shelter, hut, cabin, refuge, bothy',
    bus: 'bus, shuttle, timetable, bus stop, coach, transport, departures',
    aid: 'first aid, first aid post, aid station, plaster, bandage, blister',
    toilet: 'toilet, toilets, loo, restroom, shower, showers, wc, washroom',
    power:
      'charging, charger, charge my phone, socket, mains, recharge, charge battery, charge, charge my radio, charge my battery, charge the radio',
    parking: 'park, parking, car park, parking lot, park my car',
    path: 'path, trail, route, footpath, detour, trail closed, map',
    avalanche:
      'avalanche risk, avalanche danger, avalanche report, avalanche warning, avalanche bulletin, avalanche forecast, avalanche level, avalanche info, avalanche conditions',
    net: 'net, nets, net time, evening net',
  },
  putting:
    'put, put up, pin, pin up, hang, hang up, write, leave a note, leave, add, make, stick, jot down, enter',
  sending: 'send, tell, text, message, msg, write, sms, say, give, pass, call',
  bands: 'seventy, metre/meter/metres/meters, centimetre/centimeter/centimetres/centimeters',
  ignored: `
    cost, costs, price, prices, expensive, pay,    please, pls, plz, kindly, the, a, an, is, are, was, be, will, it, its, there, what, whats, when, how, can,
    could, would, you, your, i, im, my, me, we, us, do, does, did, have, has, get, got, give, show, send, tell,
    want, need, know, like, to, of, for, from, in, on, at, by, near, nearest, closest, nearby, around, and, or,
    with, today, now, right, currently, current, some, any, this, that, list, check, info, information, report,
    thanks, thank, thx, tnx, tks, cheers, 73, hello, hi, hey, here, sir, dear, ok, query, request, ask, next,
    time, set, sets, rise, rises, come, comes, where, which, who, much, many, long, until, outside, up, station,
    area, mhz, band, go, down, going, strong, good, tonights, still, hill, local, ham, radio, am, km, about,
    over, out, mode, only, find, see, look, then, wheres, whos, r, u, ur, wot, wats, em, am i, fer, abt, de, om, om s, now, ya, dont, else, anything, something, if, whose, what is, should, may, might, must, let, lets, than, as, off, take, use, work, pm, oclock, till, left, coming, getting, best, better, tonite, very, just, really, ever, never mind, so, too, also, again, please tell, whats up, but, because, while, after, before, since, been, being, had, has been, having, were, those, these, them, they, he, she, his, her, our, ours, into, onto, through, per, each, every one, no, not, possible, able, try, trying, looking, using, got to, gotta, gonna, wanna, want to, would like, id, ill, ive, id like, heres, theres, anywhere, somewhere, everywhere, around here, close, works, working, available, latest, exact, exactly, approx, roughly, usually, normally, hear, visible, deep, high, low, big, bad, safe to say, guys, folks, mate, buddy, friend, man, hiya, yo, quick, quickly, asap, soon, later, early, late, hoping, wondering, wonder, advise, advice, possible, kind, fyi, whichever, whatever, nudes, nude, x, hows, lookin, hit`,
  roles: {
    worried: 'worried, worry, worrying, anxious, concerned',
    extends: 'extend, change, delay, move, push back, push, postpone, prolong',
    otherwise: 'otherwise, or else, else, if not, failing that',
    how: 'how do i, how do you, how do we, how can i, how could i, how to, how would i, how does one, how is it possible to',
    booking: 'book, booking, reserve, reserving, reservation, bookings',
    ask: 'ask',
    if: 'if, unless, in case, should i',
    not: 'not, no, dont, doesnt, didnt, havent, hasnt, isnt, wont, cant, cannot, arent, never, unless, fail, nothing, without, havnt, aint',
    back: 'back, home, return, returned, returning, down, heard, hear, hear from, report, reported, check in, checked in, news, sign, word, answer, seen, made it, there, arrived, reach, reached, show up, called in, respond',
    others: 'he is, hes, he isnt, he has, he hasnt, if he, she, they, his, her, their',
    tell: 'tell, call, alert, notify, warn, inform, ring, message, phone, raise, send, let, text, msg, contact, please tell',
    tellMe:
      'tell me, let me know, ping me, alert me, notify me, warn me, message me, msg me, text me, inform me, shout, give me a shout, beep me, call me, wake me, want to know, send me a message, buzz me, holler, remind me, wake me up, warn us, let us know, give me a call, tell us',
    when: 'when, as soon as, once, if, whenever, the moment, the minute, next time',
    past: 'was, last, did, were, been',
    mine: 'my, our',
    message: 'message, messages, msg, msgs, note, text, mail, email, sms, letter, e mail',
    delivered:
      'delivered, received, collected, read, picked up, fetched, get through, got through, go through, gone through, receive, pick up, collect, gotten',
    arrived:
      'get, got, arrive, arrived, reach, reached, go out, went out, gone out, sent, become of, happened to, still waiting, come through, came through, went through, status, make it, made it, passed on, lost, seen, saw, go, left',
    asks: 'did, has, have, was, is, are, do, does, were, hasnt, didnt, isnt, has anyone, any idea if, do you know if, wonder if, whats with, what about, what happened to',
    orNot: 'or not, or no',
    forMe: 'for me, 4 me, to me, for us, waiting for me',
    watch:
      'alarm, watch, overdue, overdue watch, overdue alarm, timer, back watch, overdue timer, watchdog, watching, watching for me, watch for me, watching me, watching out for me, looking out for me, waiting for me, expecting me',
    off: 'cancel, stop, off, turn off, switch off, call off, end, remove, clear, delete, drop, kill, stand down, lift, switch it off, scrap, forget, withdraw, recall, retract, take back, discard, undo, ditch, dont send, do not send, dont deliver, do not deliver, no longer need, no longer needed, not needed, not needed anymore, dont need, no need for, no need to',
    safe: 'im back, im back safe, im down safe, im home safe, i am back safe, i am back, im home, im down, im safe, i am safe, back safe, home safe, down safe, safely down, safely back, made it back, back at the car, back in the valley, off the hill, off the mountain, safe and sound, weve made it back, we are back, were back, safe down, arrived safely, got back safe, safe at home, back down, safe at, im at the car, safe at the car, back at the hut, safe at the hut',
    seen: 'seen, saw, spotted, passed, passed by, got to, gotten to, arrived at, arrived, reached, see, come by, came by, gone past, go past, went past, come past, passing, got in, got here, come in, left yet, set off, pass, pass by, go through, gone through, been through, through',
    notice:
      'notice, announcement, bulletin board, noticeboard, notice board, new notice, message board',
    sale: 'for sale, selling, wts, wtb, giving away, free to collect, want to buy, fs',
    before: 'before, by, until, till, after, at, around, past',
    unwanted:
      'no, no more, dont, do not, stop, stop sending, turn off, switch off, cancel, unsubscribe, unsubscribe from, disable, quit sending, end, opt out, never, enough, enough of, quit',
    updates:
      'weather, wx, forecast, forecasts, alert, alerts, warning, warnings, update, updates, message, messages, msg, msgs, news, bulletin, bulletins, notice, notices, report, reports, beacon, beacons, spam, texts, packets, notification, notifications, reminder, reminders, stuff, things, junk',
    everybody:
      'to all, to everyone, to everybody, everyone, everybody, to all stations, for all, for everyone, all stations, to the group, to the whole group',
    someone: 'anyone, anybody, someone, somebody, any1, any one, who, people',
    left: 'leave, left, write, written, wrote, send, sent',
    let: 'let, make sure, have',
    that: 'know that, know, that',
    way: 'pass, mountain pass, pass road, road, roads, street, trail, path, footpath, track, route, bridge, tunnel, crossing, ridge',
    state:
      'open, opened, closed, blocked, passable, impassable, clear, cleared, shut, flooded, washed out, snowed in, muddy, walkable, reopened, slippery',
    again:
      'repeat, repeat that, say again, again, once more, one more time, come again, pardon, repeat please, repeat last, resend, send again, say that again, what did you say',
    runner: 'bib, runner, walker, rider, number, checkpoint',
    lost: 'im lost, i am lost, we are lost, were lost, got lost, lost my way, lost our way, lost the path, lost the trail, cant find my way, cannot find my way, cant find the way, dont know where i am, dont know where we are',
    cry: 'help, help me, help us, need help, assist, assistance',
    noEmergency:
      'not an emergency, no emergency, isnt an emergency, not emergency, non emergency, not urgent, nothing urgent, not hurt, not injured, nobody hurt, nobody is hurt, nobody injured, nobody is injured, no one hurt, no one is hurt, no one injured, no one is injured, no injuries, no need for rescue, no rescue needed, no ambulance needed, no doctor needed',
    presence:
      'checking in, checks in, present at, is present, reporting in, in position, at post, on post, in place, on station, on duty',
    switching:
      'switch on, switch off, turn on, turn off, power up, power off, power down, restart, reboot, shut down, lights on, lights off, light on, light off, heater on, heater off',
    returns: 'back, be back, home, return, returning',
  },
}
