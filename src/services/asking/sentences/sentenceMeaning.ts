import type { Offered, Understanding } from '../understanding.js'
import { alertWanted } from './alertWanted.js'
import { emailTo } from './emailTo.js'
import { emergencyDenied, lostInNeed } from './inNeed.js'
import { messageHeaded, stationAsked } from './messageHead.js'
import { bookingWanted, presenceReported, switchingWanted, timeOfOther } from './notHere.js'
import { forSale, noticeTakenBack, noticeToPost } from './notices.js'
import {
  backAtTime,
  overdueAsked,
  overdueEnded,
  overdueOtherwise,
  returnChanged,
  returnOfOthers,
} from './overdue.js'
import { callsIn, type Sentence } from './sentence.js'
import { leavesNothing, sentMessage } from './sentMessage.js'
import { othersOverdue, stationSeen, worriedAbout } from './stationSeen.js'
import { tellWhenHeard } from './tellWhenHeard.js'
import {
  howToLeave,
  leftForAsker,
  mailToSend,
  runnerReported,
  toldToEverybody,
  toldToStation,
} from './toOthers.js'
import {
  messageTakenBack,
  nobodyToBeTold,
  notToBeTold,
  saidAgain,
  updatesUnwanted,
} from './unwanted.js'
import { wayState } from './wayState.js'

/**
 * What a sentence means by how it is made, where a single word of it would mislead: who asks whether a message arrived leaves none,
 * and who is to be told if somebody is late is not told now.
 */
export function sentenceMeaning(sentence: Sentence, offered: Offered): Understanding | undefined {
  const isUrgent = sentence.all.some(({ words }) => words[0] === 'emergency')
  if (isUrgent && callsIn(sentence, offered).length === 0) return undefined
  return (
    lostInNeed(sentence, offered) ??
    emergencyDenied(sentence, offered) ??
    saidAgain(sentence, offered) ??
    messageTakenBack(sentence, offered) ??
    noticeTakenBack(sentence, offered) ??
    bookingWanted(sentence, offered) ??
    howToLeave(sentence, offered) ??
    leftForAsker(sentence, offered) ??
    sentMessage(sentence, offered) ??
    emailTo(sentence, offered) ??
    overdueAsked(sentence, offered) ??
    overdueOtherwise(sentence, offered) ??
    returnChanged(sentence, offered) ??
    returnOfOthers(sentence, offered) ??
    overdueEnded(sentence, offered) ??
    backAtTime(sentence, offered) ??
    updatesUnwanted(sentence, offered) ??
    switchingWanted(sentence, offered) ??
    notToBeTold(sentence, offered) ??
    nobodyToBeTold(sentence, offered) ??
    messageHeaded(sentence, offered) ??
    stationAsked(sentence, offered) ??
    worriedAbout(sentence, offered) ??
    othersOverdue(sentence, offered) ??
    tellWhenHeard(sentence, offered) ??
    alertWanted(sentence, offered) ??
    toldToStation(sentence, offered) ??
    toldToEverybody(sentence, offered) ??
    mailToSend(sentence, offered) ??
    noticeToPost(sentence, offered) ??
    leavesNothing(sentence, offered) ??
    stationSeen(sentence, offered) ??
    wayState(sentence, offered) ??
    runnerReported(sentence, offered) ??
    forSale(sentence, offered) ??
    presenceReported(sentence, offered) ??
    timeOfOther(sentence, offered)
  )
}
