"""The words an answer is read by, one table per language.

A table maps a tag to entries separated by commas; an entry may be several words and the longest wins. Words are
lower case and without apostrophes ("didnt"). A word stands under one tag only; what a tag means is said beside it.
"""

from dataclasses import dataclass, field
from enum import StrEnum


class Wish(StrEnum):
    """What she would like the programme to do, or how she answers a yes-or-no question."""

    STOP = "stop"
    CALL_ME = "call_me"
    HELP = "help"
    PAUSE = "pause"
    RESUME = "resume"
    NO_MORE_TODAY = "no_more_today"
    LATER = "later"
    NO = "no"
    YES = "yes"
    THANKS = "thanks"


# One character per tag, so that a message becomes a short string and a rule an expression over it.
NUM, OTHER, VAGUE, FRAC, CROSS, ORD = "novfxr"  # a count, another number, no exact number, 2/3, 2x10, second
ONCE = "k"  # once, twice
DO, SET, TIMES, UNIT, BEFORE = (
    "dstub"  # did, sets, times, minutes (makes 10 no count), week (makes 6 no count)
)
ANOTHER, MORE, LEFT = "mwl"  # another (means one), more (needs a number), to go
ALL, BOTH, HALF, NONE, ANY = "aBhzA"
NO, NOT, MISS, EXCEPT = "NXMe"
HEDGE, FUTURE, ASK, FIX = "HFqc"  # maybe, will, should I, sorry I meant
DAY, PART, CLOCK, DAYS_AGO = "yp@Y"  # yesterday, this morning, at (a time follows), days ago
IT, THEM, OF, OR, PLUS, TOTAL = "iTO|+="
LEAK, PAIN, HEAVY, SCORE = "LPVS"  # SCORE: out of ten
WISH, NICE, FILL, BREAK, END, QUESTION, EMOJI, SIGN, WORD = "WCg&.QEJ?"


@dataclass(frozen=True, slots=True)
class Words:
    """All that is peculiar to one language.

    tags: tag to entries. numbers: number words. once: words that are a number of times. days: words for a day
    to how many days back it lies. weekdays: name to Monday = 0. months: name to 1..12. wishes: entries that may
    stand anywhere; whole_wishes: entries that count only when nothing else is said. symptom: words that make an
    unread remainder worth a look at once, whatever its length.
    """

    tags: dict[str, str]
    numbers: dict[str, int]
    once: dict[str, int]
    ordinals: dict[str, int]
    days: dict[str, int]
    weekdays: dict[str, int]
    months: dict[str, int]
    wishes: dict[Wish, str]
    whole_wishes: dict[Wish, str]
    units: str
    symptom: str
    splits: frozenset[str] = field(default_factory=frozenset)


ENGLISH = Words(
    tags={
        DO: "did, done, managed, completed, finished, made, dun, doen, dne, dun it, got through, got done, squeezed in,"
        " fitted in, fit in, got in, got, done and dusted, ticked off, achieved, accomplished, performed, have done,"
        " did do, did manage, managed to do, managed to get, managed to fit in, got round to, knocked out, finsihed,"
        " compleated, mangaed, ddi, idd, doe, diid, doneee, finishd, doing, dones, completing, get done, logged,"
        " nailed, smashed, smashed out, banged out, powered through, snuck in, sneaked in, crammed in, ive done,"
        " report, reporting, book, log, counted, put me down for, put down, record",
        SET: "set, sets, round, rounds, session, sessions, sesh, sett, setts, ste, stes, sest, go, goes, lot, lots,"
        " exercise session, exercise sessions, contraction set, contraction sets, exercise sets, sts",
        TIMES: "times, time, tims, tiems",
        BEFORE: "day, week, month, level, page, room, phase, stage, version, grade, size, aged, age, temp, temperature,"
        " weight, weighs, weighed, weigh, bus, channel, episode, chapter, for, hold for, held for, holding for, hold,"
        " held, worth, costs, cost, number, option, step, height, gap, bp, ring, call, phone, text, tel,"
        " mobile, code, postcode, age of, baby number, child number, born, weeks, due, question, q, about page, reps,"
        " strength, score, scored, rated, rate, mood, energy, sleep, scale, pulse, hr, holds of, reps of,"
        " tablets, dose, ward, house, flat, apartment, unit, door, season, series, slept, after, before,"
        " by, past,",
        CLOCK: "at, @, around about, half past, quarter past, quarter to, from, between, until, till, since",
        ANOTHER: "another, another one, anotehr, anohter, an other, one more, 1 more, a further, one extra, an extra,"
        " an extra one, and another, anothr, nother, did it again, done it again, done again, did again, an additional,"
        " yet another, an other one, one further",
        MORE: "more, extra, additional, further, mor, moer, on top, additionally",
        LEFT: "left, to go, remaining, still to do, to do, left to do, more to go, more to do, more left, outstanding,"
        " still to go, left to go, to come, to finish, still left, still need doing, due still",
        ALL: "all, everything, every one, every single one, evrything, all of it, the lot, the whole lot, full amount,"
        " every set, full house, every last one, the full, full set, all teh, al, alll, the whole thing",
        BOTH: "both, both of them, boht, bth, both of those, the two of them",
        HALF: "half of, half the, half my, half",
        NONE: "none, nothing, nil, zilch, nada, nowt, non, nne, noen, zip, nothin, nuffin, nothing at all,"
        " none at all, not a one, not one, not a single one, not even one, no sets at all, not any, no time, no chance,"
        " no luck, no joy, zero sets, none of them, none of those, none of it, nought, naught, didnt get a chance,"
        " didnt get chance, didnt get the chance, didnt get time, didnt have time, havent had time, havent had a chance,"
        " havent had a minute, couldnt find the time, ran out of time, didnt get around to it, didnt get round to it,"
        " never got around to it, never got round to it, never got to it, didnt get to it, not a single set, not happened,"
        " didnt happen, it didnt happen, a big fat zero, big fat zero, zero done, not a thing, sweet fa, none whatsoever,"
        " not one set, didnt get round to them, didnt get to them, didnt get to do any, no exercises, no exercise,"
        " rest day, day off, took the day off",
        ANY: "any, any of them, any of it, anything, ny, a single one, a single set, even one, anythin, a thing",
        NO: "no, nope, nah, naw, nay, noo, noope, nopes, no way, afraid not, im afraid not, no thanks, no thank you",
        NOT: "not, didnt, havent, hvnt, havnt, didn, did not, have not, couldnt, could not, cant, cannot, dint, ddnt,"
        " didnot, didnt manage, didnt do, havent done, couldnt do, couldnt manage, wasnt able to, was unable to,"
        " unable to, wasnt able, unable, never, hasnt, wont, wasnt, isnt, didnt get, havent managed, not able to,"
        " didnt even, not done, failed to, didnt complete, didnt finish, ive not, not managed, never did, dnt, didnt get"
        " to do, didint, diddnt",
        MISS: "missed, skipped, forgot, forgotten, forgot about, misssed, skiped, forgot to do, missed out, missed out on,"
        " totally forgot, completely forgot, miss, mised, skip, skipping, failed",
        EXCEPT: "except, except for, bar, apart from, minus, excluding, besides, save for, other than, exept, less",
        HEDGE: "about, maybe, around, roughly, perhaps, probably, prob, probs, approx, approximately, nearly, almost,"
        " at least, at most, possibly, mayb, i think, think, i guess, guess, ish, or so, or thereabouts, not sure,"
        " unsure, cant remember, dont remember, i believe, up to, more than, less than, fewer than, a couple, couple,"
        " a few, few, several, some, a bit, couple of, more or less, somewhere between, hopefully, supposedly, kind of,"
        " kinda, sort of, sorta, half a, part of, most, most of, loads, tons, many, plenty, a bunch, bits of, bit of,"
        " over, under, might have, may have, could have, must have, lost count, dunno, dont know, i dont know,"
        " same as, as many as, loads of, lots of, or maybe, i reckon, reckon, supposed to, meant to do, was meant to,"
        " nearly all, almost all, most of them, not many, not much, not all, not every, partial, partially, partly,"
        " as usual, the usual, usual, same as usual, a handful, handful, close to, not quite, just under, just over",
        FUTURE: "will, ill, gonna, going to, plan, plan to, planning, planning to, tomorrow, tmrw, tomoz, tmr, tomoro,"
        " hope to, hoping to, need to, have to, want to, wanna, gotta, trying to, try to, aim to, aiming for, aiming,"
        " would, about to do, must do, must, intend to, promise, promise to, next week, next time,"
        " shall, id like to, going for, try, to try, target, target is, goal is, aim for, due to do, still got"
        " to do, still have to do, got to do, need, want, if, when i do, would like, hope, hoping, wish, could do,"
        " can do, can only do, 2moro, 2morrow, tmw, want me to do, told me to do, said to do, says, said, supposed,"
        " prescribed, asked for, you want, you said, told to do, meant to be, should do, should be doing",
        ASK: "should, can, is, does, am, are, could, would it, how, what, when, which, why, where, who, do i, do we,"
        " whats, hows, shall i, may i, did you, do you, have you, will i, did i, have i, was it, is it, can i, could i,"
        " should i, isnt it, how many, how much, is that, is this, was that, ok to, okay to, alright to, safe to,"
        " wondering, wonder, anyone, would you, can you, could you",
        FIX: "sorry, i meant, meant, make that, i mean, actually, oops, whoops, wait, correction, typo, scratch that,"
        " should be, should have been, shouldve been, should say, change to, change that to, change it to, make it,"
        " in fact, my mistake, mistake, soz, i meant to say, meant to say, i meant to put, correct to,"
        " correct that to, rather, instead, oh wait, hang on, no wait, no sorry, no actually, no i meant, no make that,"
        " no it was, update to, update, edit, mean, should read, my bad, sry, srry, wrong, thats wrong, ignore that,"
        " ooops, i miscounted, miscounted, no its",
        IT: "it, this one, that one, that, this, the one, mine, the morning one, the last one, the first one, my one,"
        " morning one, evening one, lunchtime one, lunch one, afternoon one, night one, midday one, the set, my set,"
        " this set, that set, one set of exercises, lunch set, this mornings, this mornings one, this mornings set,"
        " tonights, tonights one, tonights set, morning set, evening set, afternoon set, lunchtime set, midday set,"
        " night set, bedtime set, bedtime one, noon set, noon one, breakfast set, breakfast one, this evenings",
        THEM: "them, my sets, these, those, the sets, all my sets, em, my rounds, todays sets, all sets, todays, tem,"
        " thme, all them, all the sets, my exercise sets, them all, all of my sets, my full set, the full set",
        OF: "of, out of, outta, outof,",
        OR: "or, to",
        PART: "this morning, morning, tonight, this evening, evening, this afternoon, afternoon, lunchtime, lunch, at"
        " lunch, at lunchtime, midday, noon, at night, in the morning, in the evening, in the afternoon, this am, this pm,"
        " bedtime, at bedtime, before bed, tonite, 2nite, overnight, at midday, at noon, breakfast, at"
        " breakfast, dinner, teatime, in bed, first thing, earlier, mornin, before breakfast, after breakfast, before"
        " lunch, after lunch, after dinner, before dinner, tonigth, eve, noontime, night",
        BREAK: "and, but, because, cos, coz, cause, bc, while, whilst, so, then, though, although, tho, despite, during,"
        " with, without, however, except that, whereas, &, n, thanks to, plus the, as she, as he, as the, despite of,"
        " in between, even though, even tho, even with, due to, whenever, as my, as i",
        PLUS: "plus, +",
        TOTAL: "total, in total, altogether, in all, all together, overall, all told, in ttl, tot, totals, sum total,"
        " grand total, for the day, total of",
        LEAK: "leak, leaks, leaked, leakage, leakages, leaking, accident, accidents, leek, leeked, lekaed, dribble,"
        " dribbles, wee leak, wee leaks",
        PAIN: "pain, pains, hurt, hurts, hurting, painful, sore, soreness, ache, aches, aching, pian, discomfort, ouch,"
        " cramps, cramp, back pain",
        HEAVY: "heaviness, heavy, dragging, bulge, heavyness, hevy, heaviness feeling, heavy feeling, bulging",
        SCORE: "out of ten, out of 10, /10, on the pain scale",
        NICE: "thanks, thank you, thankyou, thx, ta, cheers, tx, ty, thnx, thanx, many thanks, thank u, tysm, thnks,"
        " great, lovely, cool, brilliant, fab, perfect, awesome, amazing, nice, nice one, yay, woohoo, wohoo, whoop,"
        " haha, lol, hehe, ha, hurray, hooray, phew, fantastic, wonderful, excellent, super, sweet, bless you, bless,"
        " much appreciated, appreciate it, appreciated, good stuff, good to know, got it, will do thanks, x, xx, xxx,"
        " hi, hello, hey, morning all, good morning, good evening, good night, goodnight, night night, bye, hiya, hallo,"
        " gm, gn, evening all, happy days, grand, np, no problem, no worries, youre welcome, welcome, good bot, well done"
        " you, love it, hurrah, woop, yippee, omg, wow, ah thanks, proud, boom, tada, result, go me",
        FILL: "i, ive, im, me, my, we, the, a, an, so far, far, already, just, only, now, have, has, had, well,"
        " ok, okay, please, pls, plz, yes, yeah, yep, yup, oh, ah, um, er, erm, hmm, still, finally, thats, its,"
        " be, been, in, on, up, off, again, too, as well, also, good, full, proper, whole, complete, more like, exactly,"
        " exact, definitely, precisely, literally, all good, really, very, quite, as planned,"
        " as prescribed, as instructed, of exercises, of my exercises, of pelvic floors, of contractions, of squeezes,"
        " of kegels, exercises, exercise, contractions, pelvic floors, pelvic floor, pf, pfs, kegels, kegel, squeezes,"
        " in the bag, down, dear, love, hun, yesterdays, one after another, in a row, each, today so far, up to now,"
        " until now, til now, by now, as of now, at the moment, atm, currently, right now, answer, were, there,"
        " sadly, unfortunately, afraid, im afraid, annoyingly, luckily, somehow, proudly, happily, i know,"
        " here, u, you, y, btw, fyi, tbh, honest, honestly, fine, easily, no bother,"
        " no problems, anyway, even, was, it was, all i managed, all i could manage, all i could do, all i can manage,"
        " all i got, only managed, from me, this time, in one go, quick, long, strong, long holds,"
        " lying, sitting, standing, lying down, sitting down, standing up, of the exercises, of them, of my sets, of the",
    },
    numbers={
        "zero": 0,
        "one": 1,
        "two": 2,
        "three": 3,
        "four": 4,
        "five": 5,
        "six": 6,
        "seven": 7,
        "eight": 8,
        "nine": 9,
        "ten": 10,
        "eleven": 11,
        "twelve": 12,
        "thirteen": 13,
        "fourteen": 14,
        "fifteen": 15,
        "sixteen": 16,
        "seventeen": 17,
        "eighteen": 18,
        "nineteen": 19,
        "twenty": 20,
        "thirty": 30,
        "forty": 40,
        "fifty": 50,
        "sixty": 60,
        "seventy": 70,
        "eighty": 80,
        "ninety": 90,
        "hundred": 100,
        "dozen": 12,
        "tow": 2,
        "thre": 3,
        "threee": 3,
        "trhee": 3,
        "htree": 3,
        "thrree": 3,
        "twoo": 2,
        "twp": 2,
        "oen": 1,
        "onr": 1,
        "fuor": 4,
        "foru": 4,
        "fourr": 4,
        "fiv": 5,
        "fivee": 5,
        "tw": 2,
        "wto": 2,
        "zeor": 0,
        "zer": 0,
        "zeros": 0,
        "wun": 1,
    },
    once={"once": 1, "twice": 2, "thrice": 3, "twise": 2, "onec": 1},
    ordinals={"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6},
    days={
        "yesterday": 1,
        "yest": 1,
        "yday": 1,
        "yestreday": 1,
        "yesteday": 1,
        "yesturday": 1,
        "ysterday": 1,
        "yesterdy": 1,
        "yestarday": 1,
        "yesterday night": 1,
        "yesterday evening": 1,
        "last night": 1,
        "yesterday morning": 1,
        "day before yesterday": 2,
        "the day before yesterday": 2,
        "ystd": 1,
        "yes day": 1,
        "today": 0,
        "tdy": 0,
        "2day": 0,
        "toady": 0,
        "todya": 0,
        "yestrday": 1,
        "for yesterday": 1,
        "for today": 0,
    },
    weekdays={
        "monday": 0,
        "tuesday": 1,
        "wednesday": 2,
        "thursday": 3,
        "friday": 4,
        "saturday": 5,
        "sunday": 6,
        "mon": 0,
        "tue": 1,
        "tues": 1,
        "wed": 2,
        "weds": 2,
        "thu": 3,
        "thur": 3,
        "thurs": 3,
        "fri": 4,
        "sat": 5,
        "sun": 6,
        "wensday": 2,
        "wednsday": 2,
        "satuday": 5,
        "firday": 4,
        "teusday": 1,
        "thrusday": 3,
        "mondya": 0,
    },
    months={
        "january": 1,
        "february": 2,
        "march": 3,
        "april": 4,
        "may": 5,
        "june": 6,
        "july": 7,
        "august": 8,
        "september": 9,
        "october": 10,
        "november": 11,
        "december": 12,
        "jan": 1,
        "feb": 2,
        "mar": 3,
        "apr": 4,
        "jun": 6,
        "jul": 7,
        "aug": 8,
        "sept": 9,
        "sep": 9,
        "oct": 10,
        "nov": 11,
        "dec": 12,
    },
    wishes={
        Wish.CALL_ME: "call me, ring me, phone me, give me a call, give me a ring, call me back, ring me back,"
        " please call, please ring, want a call, would like a call, like a call back, call back please,"
        " speak to someone, talk to someone, speak to my physio, speak to you, want to talk, need to talk,"
        " someone call, someone ring, need a call, a call please",
        Wish.NO_MORE_TODAY: "no more, no more today, thats it for today, thats it, thats all, thats all for today,"
        " done for today, done for the day, finished for today, finished for the day, im done for today, im done for"
        " the day, enough for today, no more for today, calling it a day, call it a day, no more tonight, thats me"
        " done, thats me for today, thats me, thats me done for today, that will do for today, thats your lot, not"
        " doing any more, didnt do any more, wont do any more, cant do any more, not doing any more today, no others,"
        " that is all, that is it, leave it for today, leave it there, thats enough, thats enough for today",
        Wish.LATER: "later, not yet, not now, in a bit, in a minute, in a sec, in an hour, in a while, remind me later,"
        " remind me, ask me later, ask again, bit later, havent yet, will do later, soon, doing it now, doing them now,"
        " about to, do it later, do them later, will do, on it, in a mo, in a moment, busy now, busy right now, snooze,"
        " after lunch, when baby sleeps, not just yet, havent had the chance yet, havent had a chance yet, give me an"
        " hour, give me a minute, give me a bit, try later, havent started, haven started yet, havent started yet,"
        " later on, ltr, l8r, laters, l8er, this evening instead, tonight instead",
    },
    whole_wishes={
        Wish.STOP: "stop, stop messages, unsubscribe, stop texting me, stop messaging me, stop it, end, quit, cancel,"
        " stop all messages, opt out, stop these messages, leave me alone, delete me, stop sending, stop reminders,"
        " stop the reminders, stop the messages, no more messages, stop sending me messages, dont message me, dont"
        " message me anymore, dont text me, remove me",
        Wish.HELP: "help, info, commands, menu, options, help me, how does this work, what can you do, what do i do,"
        " how do i use this, what do i type",
        Wish.PAUSE: "pause, pause please, take a break, need a break, pause reminders, pause for, pause it, holiday,"
        " on holiday, going on holiday, pause messages, pause the reminders, need a pause, have a break, break please",
        Wish.RESUME: "resume, start again, im back, unpause, continue, restart, carry on, back again, start, start up"
        " again, ready again, back now, resume please, resume reminders, start reminders again, back on it",
        Wish.YES: "yes, yeah, yep, yup, sure, y, aye, yes please, ok, okay, of course, correct, right, thats right, yea,"
        " yess, yesss, yeh, ok then, okey dokey, alright, all right, fine, k, okie, ye, definitely, absolutely, agreed, si",
        Wish.NO: "no, nope, nah, naw, n, nay, noo, nopes, no thanks, no thank you, no way, afraid not, im afraid not",
    },
    units="s, sec, secs, second, seconds, m, min, mins, minute, minutes, h, hr, hrs, hour, hours, day, days, week,"
    " weeks, wk, wks, month, months, mth, mths, mo, year, years, yr, yrs, yo, kg, kgs, g, gram, grams, lb, lbs, stone,"
    " pound, pounds, quid, euro, euros, dollars, dollar, pence, p, ml, l, litre, litres, oz, mm, cm, m, metres, km, mile,"
    " miles, k, c, f, degrees, degree, rep, reps, repetition, repetitions, squeeze, squeezes, contraction, contractions,"
    " hold, holds, quick, long, finger, fingers, fingerwidths, percent, percentage, steps, kid, kids, child, children,"
    " baby, babies, twins, boys, girls, people, nights, night, feeds, feed, nappies, nappy, pads, pad, wees, wee, poos,"
    " poo, glasses, cups, coffees, tablets, pills, paracetamol, stitches, clots, clot, am, pm, oclock, leaks,"
    " leakages, breaths, pushups, squats, planks, plank, situps, crunches, lunges, bridges, walks, walk, wakes,"
    " wake, wakings, naps, nap, loads, appointments, appointment, calls, messages, texts, lifts, coughs, sneezes,"
    " more weeks, more days, more minutes, year old, years old, weeks old, months old, weeks postpartum, weeks post,"
    " weeks pp, wpp, kicks, scans, physio, dogs, dog, cats, jobs, questions, things, thing, problems, friends, sisters,"
    " bags, bag, flights, meals, meal, pints, drinks, wines, wine, beats, bpm, calories, kcal, toilet, trips, trip",
    symptom="pain, pains, hurt, hurts, hurting, painful, sore, ache, aches, aching, leak, leaked, leaking, leaks, blood,"
    " bleed, bleeding, bled, clot, clots, heavy, heaviness, bulge, bulging, lump, dragging, dizzy, faint, fever, temp,"
    " temperature, numb, numbness, tingling, burning, stinging, swollen, swelling, discharge, smell, smelly, chest,"
    " breath, breathe, breathless, breathing, headache, vision, calf, leg, rash, sick, vomiting, wee, pee, urine, poo,"
    " doming, cone, coning, stitches, wound, infection, scared, crying, cry, cried, sad, hopeless, anxious, panic,"
    " depressed, worried, fell, fall, weird, strange, wrong, worse, worst, cramp, cramps, cramping, stabbing, sharp,"
    " pregnant, pressure, spasm, spasms, unwell, ill, poorly, hospital, die, dead, kill, hit, hits, unsafe",
)

LANGUAGES = {"en": ENGLISH}

# Emoji that are no thanks: alone they stay an unread note.
DISTRESS = frozenset("🆘🩸🚑🚨🏥🤕🤒🤮🤢😢😭😞😔😣😖😩😫😟🙁☹😰😱💔😡🤬😠😨😥😿🥺🏨☠💀⚰🩹🩺💊🤰🌡❌👎🛑⛔")
# Emoji that may be a count or a "done": asked back.
MAY_COUNT = frozenset("✌☝✅✔☑🖖🤟🫰🤘💯🥇🥈🥉🎲")
