"""English: the words an answer is read by. How a table is made is said in `reading_words`."""

from bot.domain import reading_words as words
from bot.domain.reading_words import Wish, Words

ENGLISH = Words(
    tags={
        words.TO_DO: "do",
        words.IF: "if, incase, in case, whether, supposing, say if",
        words.SERIES: "series, serie, sequence, sequences, cycles",
        words.GOOD: "ok, okay, fine, good, well, strong, clear, normal",
        words.WROTE: """
            i put, i typed, i pressed, i wrote, i clicked, i tapped, i said, i sent, i entered, i told you, id
            put, id said, ive put, i texted, i answered, i replied, i had put, i had said, it says i did
        """,
        words.WHO: """
            hubby, husband, my husband, my hubby, himself, partner, my partner, my other half, boyfriend,
            fiance, he, she, they, my sister, sister, my friend, friend, my friends, my mum, my mam, my mom,
            mum, mom, my mother, my son, son, my daughter, daughter, my toddler, toddler, the baby, baby,
            bubs, bub, babs, the physio, physio, doctor, the doctor, gp, the gp, my gp, nurse, the nurse,
            midwife, the midwife, the app, the leaflet, leaflet, app, the sheet, the book, the website,
            everyone, everybody, somebody, someone, my mate, the twins, twins, the kids, kids, my kids, dad,
            my dad, granny, nana, the dog, my boss, boss, the consultant, consultant, my little girl, my
            little boy, wife, my wife, neighbour, my neighbour, cousin, my cousin, my brother, brother, my
            oldest, my eldest, my youngest, yo, year old, yr old, month old, week old, kid, child, children,
            babies, boys, girls, people, women, men, friends, sisters, brothers, daughters, sons, toddlers,
            person, visitors, visitor, doctors, workmen, workman, years old, months old, weeks old
        """,
        words.DO: """
            popped in, slotted in, threw in, chucked in, got another in, worked in, had time for, made time
            for, found time for, only had time for, only time for, got time for, just had time for, able to
            get, was able to get, managed to get in, only able to get, did get round to, hit, reached,
            cracked, banged out, powered through, ploughed through, worked through, racked up, clocked,
            clocked up, notched up, got up to, made it through, crammed in, fit, sorted, tackled, cracked out,
            churned out, logged up, did, managed, got, did do, got through, squeezed in, fitted in, fit in,
            got in, got round to, got around to, achieved, did manage, did manage to do, managed to do,
            managed to get, managed to fit in, managed to squeeze in, managed to complete, managed to finish,
            knocked out, nailed, smashed, smashed out, got to do, was able to do, able to do, could only do,
            could only manage, snuck in, sneaked in, ddi, diid, idd, mangaed, manged, did get, did complete,
            did finish, was only able to do, only able to do, i did do, got thru, performed, could do only,
            fitted, was able to manage, could manage, made it to, got around to doing, got round to doing, got
            to doing, snuck, sneaked, made, make, have made, i made, i make, stopped after, gave up after,
            quit after, stopped myself after, made it as far as, got as far as, only got as far as, got up as
            far as, managed to get through, get through, squeeze in, managed to squeeze, managed to fit, put
            in, did about, have managed, ive managed, have got, got it to, exercised, practised, practiced,
            trained, worked out, squeezed, been able to do, have been able to do, been able to manage, been
            able to get, been able to fit in, had energy for, only had energy for, had the energy for, only
            energy for, had strength for, only had strength for, after doing, im after doing, am after doing,
            popped, slotted, lasted, only lasted
        """,
        words.DONE: """
            done with, have been done, were done, are done, is done, been done, was done, have all been done,
            has been done, done, completed, finished, ive done, have done, got done, ticked off, done and
            dusted, get done, dun, doen, dne, finsihed, compleated, finshed, all done with, accomplished, have
            completed, have finished, ive completed, ive finished, complete, im done with, finish, finishing
            up, wrapped up, polished off, dn, all finished with, finished with, finished up with, all finished
            up with
        """,
        words.JUST: """
            just there, just there now, a moment ago, 10 mins ago, five minutes ago, just a minute ago,
            minutes ago, a few minutes ago, a second ago, just after doing, just after finishing, im just
            after doing, only after doing, just after completing, just did, just done, ive just done, just
            finished, just completed, just now, just this minute, a minute ago, just managed to do, have just
            done, just this second, just ticked off
        """,
        words.SETS: """
            sets, rounds, sessions, setts, stes, sest, sts, exercise sets, contraction sets, exercise sessions
        """,
        words.ONE_SET: """
            set, round, session, sett, ste, exercise set, contraction set, exercise session, sesh
        """,
        words.EXERCISE: """
            my exercise, the exercise, an exercise, exercises, kegels, kegel, pelvic floors, pelvic floor,
            pelvic floor exercises, pf, pfs, pfmt, pelvic floor muscle exercises, exercies, excercises,
            excersises, exersises, physio exercises, my physio, homework, practice, pfes, pfe, workout,
            routine, programme, program, training
        """,
        words.REPS: """
            reps, rep, repetitions, repetition, squeezes, squeeze, contractions, contraction, holds, pulses,
            lifts, clenches
        """,
        words.KIND: """
            long, short, quick, slow, fast, longs, quicks, shorts, long ones, quick ones, short ones, slow
            ones, fast ones, gentle, strong ones
        """,
        words.TIMES: """
            times, time, lots, goes, turns, tims, tiems, lot, turn, bouts, bouts of, repeats, xs
        """,
        words.UNIT: """
            of us, of you, of the kids, of my kids, of the children, of our kids, of the family, of the night,
            of the babies
        """,
        words.WORD: """
            little one, little ones, wee one, young one, our little one, small one, loved one, loved ones, big
            one, one another, one year old, the big one, my little one, is ill, are ill, was ill, were ill, im
            ill, am ill, both ill, all ill, really ill, so ill, very ill, feeling ill, felt ill, bit ill, been
            ill, ill today, ill baby, too ill, being ill, twice as, times as, half as, three times as, as
            hard, as long, as much, one in a million, my dinner, my breakfast, my lunch, my tea, my supper,
            square one, cloud nine, cloud 9, missed you, missed your, miss you, missed u, missed me, missed
            us, miss u, miss me, miss us, missed ye, cant make, cant make it, couldnt make it, couldnt make,
            wont make it, wont make, cannot make it, cannot make, can not make it, can not make
        """,
        words.NUMBER: "number, nr, num",
        words.NOUN: """
            exercise, day, week, month, level, page, room, phase, stage, version, grade, size, aged, age,
            temp, temperature, weight, weighs, weighed, weigh, bus, channel, episode, chapter, option, step,
            height, gap, bp, pulse, phone, tel, mobile, code, postcode, born, question, strength, score,
            scored, rated, rate, mood, energy, scale, sleep, slept, dose, ward, house, flat, unit, season,
            baby number, child number, turned, turning, weeks, cost, costs, worth, bed, part, item, exercise
            number, plan b, effort, stress, tiredness, fatigue, width, room number, cluster, gravida, para,
            appointment, hold, held, holding, hold for, held for, holding for, effort level, difficulty,
            motivation, zoom, terminal, gate, line, route, floor, table, q, shes, hes, she is, he is, baby is,
            theyre, they are, my baby is, the baby is, lo is, dd is, ds is, bub is, bubs is, twins are, the
            twins are, woke, woke up, fed, peed, weed, walked, drank, ate, took, taking, take, been up, was
            up, were up, phoned, rang, texted, sneezed, coughed, changed, pumped, expressed, swam, ran,
            jogged, cycled, watched, read, scrubbed, hoovered, cried, driving, drove, paid, bought, spent,
            lost, gained, waited, queued, called, weighing, weighs in at
        """,
        words.PREP: """
            in the, in my, on the, on my, in a, on a, at the, at my, at home, at work, in our, on our, in
            front of, next to, over the, beside the, off the, for, before, after, by, inside, until about,
            near, in, off, in bed
        """,
        words.CLOCK: """
            at, @, half past, quarter past, quarter to, quarter of, from, until, till, til, since, half past
            about, oclock at, up at, by about, round about, just after, just before, around about, woke at,
            not before, half past at
        """,
        words.BETWEEN: "between, betwen, inbetween",
        words.PAST: "past, minutes past, mins past, minutes to, mins to",
        words.ONLY: """
            its, thats, it was, it is, that is, that was, it were, only, just only, only just, down, bringing
            me to, brings me to, brings it to, taking me to, takes me to, makes that, bringing it to, bringing
            my total to, taking it to, that makes, makes it, making, making it, which makes, which makes it,
            that brings me to, brings us to, so thats, equals
        """,
        words.ANOTHER: """
            did one again, done one again, did 1 again, another, another one, anotehr, anohter, anothr,
            nother, an other, an other one, one more, 1 more, a further, one extra, an extra, an extra one, an
            additional, yet another, one further, did it again, done it again, done again, did again, just did
            one, just done one, just did 1, just done 1, just finished one, just finished 1, ive just done
            one, ive just done 1, just managed one, the other one, one other, and another one, another 1, just
            did a set, just done a set, just finished a set, just did my set, just did it, just done it, just
            finished it, a second one, another one bites the dust, once more
        """,
        words.MORE: """
            more, extra, additional, further, mor, moer, on top, other, the other, additionally, bonus
        """,
        words.LEFT: """
            left, to go, remaining, still to do, to do, left to do, more to go, more to do, more left,
            outstanding, still to go, left to go, to come, to finish, still left, still need doing, left over,
            due still, left for tonight, left for later, to go still, more still to do, behind, off target,
            shy, balance, pending, due
        """,
        words.REST: """
            the rest, the remaining ones, the others, the other ones, rest of them, the rest of them, rest
            done, rest are done, rest is done, rest all done
        """,
        words.ALL: """
            everything you asked, all you asked, everything you asked for, everything you said, everything i
            was told, all you asked for, all i was asked, everything asked, everything on the plan, everything
            on the list, everything on my list, everything prescribed, all prescribed, all the prescribed
            sets, all thats prescribed, everythings, alls, it all, all, everything, every one, every single
            one, evrything, all of it, the lot, the whole lot, every set, every last one, the full amount, the
            full lot, alll, al, the whole thing, full marks, each one, the entire lot, the full number, every
            single set, all off, all my sets, all sets, all them, all the sets, them all, all of my sets, all
            of them, all of the sets, all of todays, all todays, all of those, all my rounds, all my sessions,
            all of these, all my exercises, all the exercises, all of my exercises, all exercises, all of the
            exercises, all my kegels, all my pelvic floors, the full set, my full set, the whole set, the full
            quota, all as prescribed, everythign, the full whack, thats all of them, thats all of it, thats
            all my sets, thats all the sets, each of them, each and every one, thats them all, each set done,
            did each set, done each set
        """,
        words.BOTH: "both, both of them, boht, bth, both of those, the two of them, both of these",
        words.HALF: "half",
        words.HALF_OF: "half of, half the, half my, half of my, half of the",
        words.NONE: """
            not even 1, not one single set, none, nothing, nil, zilch, nada, nowt, non, nne, noen, nothin,
            nuffin, nothing at all, none at all, not a one, not one, not a single one, not even one, no sets
            at all, not any, none of them, none of those, none of it, nought, naught, not a single set, not
            one set, not even one set, a big fat zero, big fat zero, not a thing, none whatsoever, none done,
            nothing done, nonee, zero sets, zip, not a sausage, none of the sets, none of my sets, nout,
            bugger all, feck all, sod all, naff all, damn all, nothing whatsoever, squat, diddly squat, jack,
            jack all, zippo, goose egg, not a bean, none so far, zerp, nothin at all, nought at all, nuttin,
            nuthin, nothign, nohting, nonne, no set, 0 sets, not a single thing, not one of them, nary a one,
            not the one, didnt even do one, didnt even get one, didnt even manage one, didnt do even one,
            havent even done one
        """,
        words.NO_TIME: """
            no time, no chance, no luck, no joy, didnt get a chance, didnt get chance, didnt get the chance,
            not happened, didnt get time, didnt have time, havent had time, havent had a chance, havent had a
            minute, didnt happen, couldnt find the time, ran out of time, didnt get around to it, didnt get
            round to it, never got around to it, never got round to it, never got to it, didnt get to it, it
            didnt happen, didnt get round to them, no exercises, didnt get to them, no exercise, not a chance,
            didnt have a chance, didnt have the time, didnt find time, didnt find the time, had no time, had
            no chance, no time at all, it just didnt happen, not happening, didnt get to do any, couldnt face
            it, couldnt face them, didnt get round to any, didnt get around to any, havent got round to it,
            didnt have the energy, couldnt fit it in, couldnt fit them in, couldnt fit any in, didnt fit any
            in, not possible, not possible today, impossible, was impossible, wasnt possible, not manageable,
            didnt get near them, didnt get near it, never happened, never got a chance, never got the chance,
            never got time, never had time, never had a chance, no opportunity, didnt work out, no can do, not
            a hope, no hope, no hope of it
        """,
        words.ANY: """
            get one done, get any done, get any in, get any, get a single one done, any, any of them, any of
            it, anything, a single one, a single set, even one, anythin, a thing, any at all, any exercise,
            any exercises, any of the exercises, any of my exercises, any of my sets, any of the sets, any
            pelvic floors, any kegels, any physio
        """,
        words.NO: """
            no, nope, nah, naw, nay, noo, noope, nopes, no way, afraid not, im afraid not, no thanks, no thank
            you, nup, nuh uh, nah uh, nae, negative, nein, nopey, noppe, nopee, nuh, no no, nooo, nah nah, no
            no no
        """,
        words.NOT: """
            rather than, instead of, havent managed to do, havent managed to, didnt manage to do, didnt manage
            to, not managed to do, havent been able to do, couldnt manage to do, not been able to do, didnt
            get round to doing, didnt get round to, didnt get around to, havent got round to, didnt get chance
            to do, didnt get a chance to do, didnt have time to do, didnt have time for, no time for, didnt
            find time for, not, didnt, havent, hvnt, havnt, didn, did not, have not, couldnt, could not, cant,
            cannot, can not, dint, ddnt, didnot, didnt manage, didnt do, havent done, couldnt do, couldnt
            manage, wasnt able to, was unable to, unable to, wasnt able, unable, never, hasnt, wont, wasnt,
            isnt, didnt get, havent managed, not able to, didnt even, not done, failed to, didnt complete,
            didnt finish, ive not, ive not done, not managed, never did, dnt, didint, diddnt, dont, do not,
            doesnt, does not, not doing, wont be doing, wont do, cant do, didnt actually, was not able to, not
            been able to, havent been able to, not even, didnt get to do, no longer, did not do, did not
            manage, have not done, wasnt able to do, wont be able to do, neither, aint, aint done, without
            doing, didnt bother, hadnt, didnae, cannae, couldnae, havenae, dinnae, willnae, wasnae, not do,
            not did, not make, not made, no do, no did, not doing any of, couldve not, couldnt get to do,
            never managed, never got, never got to do, havent got, havent even, didnt end up doing, didnt end
            up, ended up not doing, hadnt time for, not got to, not gotten to, didnt get to, never get to,
            wasnt able for, not able for, isnt able for
        """,
        words.MISS: """
            missed, skipped, forgot, forgotten, forgot about, misssed, skiped, forgot to do, missed out,
            missed out on, totally forgot, completely forgot, miss, mised, skip, skipping, left out, ive
            missed, forget, forgot all about
        """,
        words.EXCEPT: """
            except, except for, bar, apart from, minus, excluding, besides, save for, other than, exept, less
        """,
        words.HEDGE: """
            thats my guess, as many as you asked, a wee bit, wee bit, a tiny bit, a little bit, tiny bit, the
            guts of, in or around, there or thereabouts, thereabouts, id guess, i suppose, suppose, by my
            count, i lost count, cant say, hard to say, who knows how many, one more and im done, one more and
            then im done, one more then im done, one more and i am done, could be, not as many, not as much,
            less than yesterday, more than yesterday, not as many as yesterday, fewer than yesterday, halfway,
            half way, morning ones, evening ones, the morning ones, the evening ones, my morning ones, my
            evening ones, the usual amount, my usual, under, about, maybe, around, roughly, perhaps, probably,
            prob, probs, approx, approximately, nearly, almost, mayb, at least, at most, possibly, i think,
            think, i guess, guess, ish, or so, or thereabouts, not sure, unsure, cant remember, dont remember,
            i believe, up to, more than, less than, fewer than, a couple, couple, couple of, a couple of, a
            few, few, several, some, more or less, somewhere between, hopefully, supposedly, half a, most,
            most of, most of them, many, plenty, a bunch, over, might have, may have, could have, must have,
            lost count, dunno, dont know, i dont know, same as, same as yesterday, like yesterday, as
            yesterday, same as before, as usual, the usual, usual, same as usual, as before, as many as, or
            maybe, i reckon, reckon, nearly all, almost all, not many, not much, not every, partial,
            partially, partly, same as a handful, handful, close to, not quite, just under, just over, wish, a
            lot, not a lot, a bit, a little, kind of, kinda, sort of, sorta, or more, or less, plus or minus,
            circa, theoretically, technically, pretty sure, fairly sure, give or take, aprox, abt, mabye,
            mebbe, may be, same again, same, the same, idk, who knows, cant recall, dont recall, not certain,
            not too sure, not really sure, no idea, one or two of them, a quarter of, a third of, two thirds
            of, quarters, three quarters, two thirds, thirds, halves, can only do, can only manage, lots of
            sets, lots of them, did lots
        """,
        words.HABIT: """
            a day, per day, each day, every day, daily, a week, per week, most days, usually, normally, on
            average, average, always, everyday, every time, each time, most nights, in general, generally,
            typically, as a rule, every night, a night, on a good day, ever
        """,
        words.FUTURE: """
            might, may, might do, may do, will, ill, gonna, going to, plan, plan to, planning, planning to,
            tomorrow, tmrw, tomoz, tmr, tomoro, 2moro, tmw, hope to, hoping to, need to, have to, want to,
            wanna, gotta, trying to, try to, aim to, aiming for, aiming, must, must do, intend to, promise,
            promise to, next week, next time, shall, id like to, going for, try, to try, target, target is,
            goal, goal is, aim for, aim, due to do, still got to do, still have to do, still need to do, need,
            want, when i do, would like, hope, hoping, could do, can do, would, doing, supposed, supposed to,
            prescribed, told, asked for, you want, meant to do, was meant to, should do, should be doing,
            wanted, wanted to, wanted to do, tried, tried to, tried to do, was going to, was going to do,
            intended, hoped, hoped for, planned, planned to, aimed for, waiting to do, tomorow, tomorrows,
            2morrow, start with, was supposed to, was supposed to do, was told, deserve, could i, to be done,
            tomo, prescription, prescription is, usual is, my plan is, to try and do, ready to do, ready for,
            looking at doing, schedule, scheduled, set myself, attempt, attempting, attempted, should have,
            shouldve, shoulda, should have done, shouldve done, should of done, should of, would have,
            wouldve, would have done, would of, would of done, wouldve done, ought to, ought to have, ought to
            have done, if only, had planned, was hoping, was hoping to, was hoping to do, was hoping for, was
            aiming for, was planning, was planning to, was planning on, going to try and, need to get, got to
            get, have yet to, yet to, yet to do, halfway through, in the middle of, midway through, working
            on, on set, on number, starting, start, began, started, gonna try, going to try, half way through,
            says, said, change my, change the, move my, set my, message me, text me, remind, send me, only
            send, let me know, should be able to, should be able to do, might be able to, might be able to do,
            will be able to, will be able to do, may be able to, could be able to, would be able to, be able
            to, be able to do, shell be, hell be, itll be, theyll be, might manage, may manage, will manage,
            should manage, should get, should fit, might get, might squeeze, will squeeze, will have, will be,
            would do, can manage, can fit, can get, its meant to be, is meant to be, it is meant to be,
            supposed to be, its supposed to be, are meant to be, is supposed to be, on to, onto, moving on to,
            nudge me, nudge, ping me, move the, starting again, start again tomorrow
        """,
        words.AUX: "should, can, is, does, are, could, arent, shouldnt, doesn",
        words.ASK: """
            how, what, when, which, why, where, who, do i, do we, whats, hows, shall i, may i, did you, do
            you, have you, will i, did i, have i, was it, is it, can i, should i, isnt it, how many, how much,
            is that, is this, was that, ok to, okay to, alright to, safe to, wondering, i wonder, would you,
            can you, could you, should we, am i, are there, what if, how do, what do, is there, how long, how
            often, do they, would it, is doing, can we, shall we, will it, does it, should it, can it, is
            just, was i
        """,
        words.FIX: """
            that was meant to be, it was meant to be, was meant to be, meant to be, should have said, that was
            supposed to be, it was supposed to be, i shouldve said, i should have said, i made a mistake, made
            a mistake, i got it wrong, got that wrong, i typed wrong, typed wrong, mistyped, i mistyped, wrong
            number, sorry wrong number, pressed wrong, pressed the wrong button, fat fingers, fat finger,
            autocorrect, slip of the finger, finger slipped, can you change it to, can you change that to,
            could you change it to, could you change that to, can you make it, can you make that, could you
            make that, can you correct it to, can you change to, can you update it to, please change it to,
            please change that to, i meant, meant, make that, i mean, actually, oops, whoops, correction,
            typo, scratch that, should be, mean to say, should have been, shouldve been, should say, change
            to, change that to, change it to, make it, in fact, my mistake, mistake, i meant to say, meant to
            say, i meant to put, correct to, correct that to, rather, oh wait, hang on, mean, no wait, no
            actually, no i meant, no make that, update to, update, edit, should read, my bad, wrong, thats
            wrong, ignore that, ooops, i miscounted, miscounted, no its, no it was, sorry i meant, sorry its,
            sorry it was, sorry make that, correct it to, needs to be, not right, sorry thats wrong, meant to
            put, was meant to say, i miscounted its, sorry should be, sorry should say, change my answer to,
            please change to, no thats wrong, no it should be, undo, undo that, undo it, take that back,
            delete that, cancel that, take it back, a mistake, changed to, a typo, meant to type, meant to
            write, meant to press, meant to send, meant to enter, meant to click, meant to tap, forget it,
            should have put, shouldve put, should have typed, should have pressed, should have written,
            shouldve said
        """,
        words.SORRY: "sorry, soz, sry, srry, wait, or rather, sorrry, apologies",
        words.PART: """
            this morning, morning, tonight, this evening, evening, this afternoon, afternoon, lunchtime,
            lunch, at lunch, at lunchtime, midday, noon, at night, in the morning, in the evening, in the
            afternoon, this am, this pm, bedtime, at bedtime, before bed, tonite, 2nite, overnight, at midday,
            at noon, breakfast, at breakfast, dinner, teatime, first thing, earlier, mornin, before breakfast,
            after breakfast, before lunch, after dinner, tonigth, before dinner, eve, night, am, pm, earlier
            today, earlier on, at dinner, at teatime, after breakfast today, late afternoon, mid morning,
            early morning, late morning, late evening, during the night, in the night, before work, after
            work, tonght, at dinnertime, before tea, after tea, mornings, evenings, at night time, nighttime,
            this morn, morn, 2 night, this eve, this arvo, arvo, this aft, aft, tnite, before bedtime, before
            the school run, after the school run, before school, after school, on waking, before sleep, lunch
            break, on my lunch break, my lunch break, tea break, my tea break, coffee break, my break, nap
            time, naptime, at nap time, bath time, at bath time, bathtime
        """,
        words.IT: """
            it, this, that, mine, my one, the set, my set, a set, a round, a session, one set of my, tht
        """,
        words.THEM: """
            them, my sets, these, those, the sets, em, my rounds, tem, thme, my sessions, the prescribed sets,
            the session sets, the rounds, them all day
        """,
        words.OF: "of, outa, out o, out of, outta, outof",
        words.OR: "or, to, and or",
        words.PLUS: "can you add, could you add, please add, plus, add",
        words.TOTAL: """
            grand total of, a grand total of, total, in total, altogether, in all, all together, all told,
            tot, totals, grand total, for the day, total of, overall, in ttl, for the whole day, total today,
            todays total
        """,
        words.LEAK: """
            leak, leaks, leakage, leakages, accident, accidents, leek, leeks, dribble, dribbles, wee leak, wee
            leaks
        """,
        words.LEAKED: "leaked, leaking, leeked, lekaed, dribbled, leakd, ive leaked",
        words.PAIN: """
            pain, pains, hurt, hurts, hurting, painful, sore, soreness, ache, aches, aching, pian, discomfort,
            ouch, cramps, cramp, back pain, pain score, pain level, pain scale, pain rating, pain levels,
            pelvic pain, for pain, with pain, in pain
        """,
        words.HEAVY: """
            heaviness, heavy, dragging, bulge, heavyness, hevy, heaviness feeling, heavy feeling, bulging,
            heaviness score, heaviness level, dragging feeling, for heaviness
        """,
        words.SCORE: "out of ten, out of 10, on the pain scale",
        words.PRAISE: """
            all good, all fine, all well, all right, all set, all clear, all is well, alls well, great,
            lovely, cool, brilliant, fab, perfect, awesome, amazing, nice, fantastic, wonderful, excellent,
            super, sweet, grand, happy days, good stuff, nicely, ideal, magic, deadly, class, savage, peachy,
            dandy, swell, smashing, stellar
        """,
        words.NICE: """
            thanks, thank you, thankyou, thx, ta, cheers, tx, ty, thnx, thanx, many thanks, thank u, tysm,
            thnks, nice one, yay, woohoo, wohoo, whoop, haha, lol, hehe, ha, hurray, hooray, phew, bless you,
            bless, much appreciated, appreciate it, appreciated, good to know, got it, will do thanks, x, xx,
            xxx, hi, hello, hey, hiya, morning all, good morning, good evening, good night, goodnight, night
            night, bye, hallo, gm, gn, np, no problem, no worries, youre welcome, welcome, good bot, love it,
            hurrah, woop, yippee, omg, wow, proud, boom, tada, go me, thanks for the reminder, thanks for
            checking, thanks so much, thank you so much, thanks a lot, thanks for asking, good afternoon, well
            done me, thanks for that, thank you very much, thanks very much, ha ha, good one, noted, will do
            thank you, youre the best, your welcome, much love, tks, thaanks, thanks again, aw thanks, ah
            thanks, good job, well done, whoo, woo, woo hoo, yey, yaay, thankss, guess what, good news, great
            news, three cheers, 3 cheers, two thumbs up, 2 thumbs up, evening all, hi all, hello all, hey all,
            night all, hiya all, afternoon all, hi everyone, hello there, hi there
        """,
        words.MOOD: """
            done in, embarrassed, ashamed, glad, gutted, disappointed, annoyed, frustrated, guilty, feeling
            guilty, bad, great day, lovely day, feel bad, oh dear, delighted with myself, good going,
            thrilled, over the moon, back on track, on track, on a roll, on fire, in a good mood, for once, at
            a push, mad busy, flat out, up to my eyes, under the weather, off form, pure tired, wrecked,
            banjaxed, beat, burnt out, worn out, run off my feet, sleep deprived, all over the place, no
            sleep, bit better, much better, way better, so much better, much easier, bit easier, too hard, so
            hard, really hard, super busy, so busy, very busy, really busy, very tired, really tired, super
            tired, lazy, being lazy, feeling lazy, not feeling it, low energy, too many, too much, nearly
            done, almost done, nearly there, almost there, nearly finished, almost finished, getting there,
            all day, all night, all morning, all afternoon, all evening, all week, all the time, at all, after
            all, all over, tired, knackered, shattered, exhausted, sleepy, easy, hard, tough, difficult, busy,
            better, stronger, happy, easier, harder, drained, wiped, rushed, late, bad day, good day, hectic,
            rough, feeling good, feeling great, feeling strong, feeling better, felt good, felt fine, felt
            great, felt ok, felt easy, felt hard, feel good, feel great, feel better, went well, going well,
            went fine, was hard, was easy, was tough, struggled, struggling, challenging, hell of a day, crazy
            day, busy day, long day, tiring, chaos, manic, as ever, for a change, bit tired, so tired, too
            tired, too busy, poor, rubbish, pathetic, naughty, better than nothing, better than yesterday, not
            bad, not great, not too bad, pleased, chuffed, delighted, what a day, mad day, in bits, half
            asleep, hectic day, quiet day, no one, nobody, noone, hard one, tough one, bad one, rough one,
            easy one, tricky one, strange one, nothing to report, nothing new, nothing to say, nothing to add,
            nothing else, nothing much, slowly, quickly, zonked, better day, best day, worst day, terrible
            day, awful day, okay day, ok day, slow day, easier day, harder day, nice day, horrible day, mad
            one, sick day, my best day, day from hell, day of it, cluster feeding, one hell of a day, a day of
            two halves, hell of a week, one hell of a week, nothing bad, nothing strange, nothing weird,
            nothing serious, nothing major, nothing special, nothing interesting, nothing exciting, nothing
            worse, nothing like, nothing crazy, nothing unusual, nothing different, nothing terrible, nothing
            too bad, not so, by myself, on my own, myself
        """,
        words.FILL: """
            since yesterday, until yesterday, in one set, per set, each set, in each set, in a set, in every
            set, here, a piece, big fat, completely, entirely, a measly, a whopping, a solid, a full, a mere,
            in fairness, to be fair, in fact today, as promised, as agreed, per plan, as per plan, as per the
            plan, like you said, as you said, as told, as instructed by you, per your instructions, there now,
            the best i could do was, best i could do was, best i could manage was, the best i could manage
            was, all i could do was, all i could manage was, the most i could do was, the most i could manage
            was, most i could do was, most i managed was, all i managed was, the best i managed was, best i
            managed was, under my belt, mark me down for, stick me down for, down for, i am, can you put,
            could you put, can you log, could you log, can you record, please put, chalk up, chalked up,
            there, were at, were on, we are at, we are on, i am at, i am on, im now at, im now on, absolutely,
            literally, totally, simply, basically, certainly, i, ive, im, me, my, we, the, a, an, so far, far,
            already, just, now, have, has, had, please, pls, plz, yes, yeah, yep, yup, oh, ah, um, uh, er,
            erm, hmm, still, finally, on, again, too, as well, also, full, proper, whole, more like, exactly,
            exact, definitely, precisely, really, very, quite, as planned, as prescribed, as instructed, in
            the bag, dear, love, hun, each, in a row, today so far, up to now, until now, til now, by now, as
            of now, at the moment, atm, currently, right now, answer, sadly, unfortunately, afraid, im afraid,
            annoyingly, luckily, somehow, proudly, happily, i know, u, you, y, btw, fyi, tbh, honest,
            honestly, easily, no bother, no problems, anyway, even, was, from me, this time, in one go, lying,
            sitting, standing, lying down, sitting down, standing up, yet, all i managed, all i could manage,
            all i could do, all i can manage, all i did, was all i managed, was all i could manage, is all i
            managed, is all i could manage, is all i can manage, all i got, is all i did, was all i could do,
            is all i could do, was all i did, lets say, say, call it, id say, im at, im on, log, logged,
            record, report, reporting, put, put me down for, book, count, counted, put down, forgot to log,
            forgot to say, forgot to reply, forgot to tell you, forgot to mention, forgot to enter, forgot to
            report, forgot to answer, forgot to message, forgot to text, forgot to record, forgot to write,
            forgot to send, forgot to press, well then, right, right then, sure, yea, yeh, aye, we did, mark,
            marked, tick, ticked, enter, entered, update me, bang on, solid, decent, little, small, quick
            update, my answer is, the answer is, answer is, number is, in the end, at last, at long last, to
            be honest, for you, to log, no less, no fewer, as of this moment, as requested, got to, reply,
            replying, us, grand total is, a total of, whopping, measly, mere, lousy, i have, theres, of the
            day, believe it or not, done today, apologies but, ya, yah, yip, w, in the books, and counting, on
            the board, in the bank, thank god, thank goodness, thankfully, like you asked, as you asked, mam,
            madam, sir, maam, lads, folks, guys, mate, m8, babe, indeed, yessir, yep yep, believe me, to my
            shame, shockingly, surprisingly, amazingly, miraculously, barely, successfully, is like, was like,
            like a, feels like, felt like, now at, now on, mark me down as, put me down as, count me as, down
            as, put it down as, mark it as, log it as, record it as, thatd be, itd be, together, back to back,
            one after the other, one after another, in one sitting, at once, at the same time, make up for
            yesterday, to make up for yesterday, making up for yesterday, catching up from yesterday, to catch
            up, because of yesterday, than yesterday, after yesterday, straight after, all in all, once again,
            truthfully, id call it, if im honest, if i am honest, i wont lie, not gonna lie, im not going to
            lie, to tell the truth, yess, hands up, ps, p s, eh, ye, yas, yass, alright, righto, arrah, meh,
            welp, aw, aww, oof, ugh, argh, jeez, gosh, mhm, mm, och, ach, ara, sigh, bleh, ooh, whew, okey,
            sooo, soo, yepp, yeahh, anyways, listen, look, pet, chick, girl, dr, doc, for me, sorry to say,
            happy to say, pleased to say, proud to say, glad to say, im sorry to say, im happy to say, sad to
            say, im afraid to say, hate to say, to admit, ashamed to admit
        """,
        words.AND: "and, nd",
        words.BUT: "but, bt, buut",
        words.LINK: """
            with, without, during, despite, due to, despite the, as, thanks to, like, including, inc, followed
            by, throughout, versus, vs, alongside, beyond
        """,
        words.BREAK: """
            because, cos, coz, cause, bc, while, whilst, so, then, though, although, tho, however, whereas,
            even though, even tho, even with, whenever, once i, once the, once she, once he, instead, unless,
            otherwise, plus i, anyhow, as soon as, just as, yet i, nor, thus, hence, therefore, cuz, bcos,
            becos, becuase
        """,
    },
    counted="sets, times, more, done",
    spellings="""
        tday today, tdays todays, ystrday yesterday, cudnt couldnt, cudn couldnt, wudnt wouldnt, shudnt
        shouldnt, hasn hasnt, nething anything, ny any, evry every, sum some, wiv with, wen when, av have, ave
        have, hav have, haz has, jst just, jus just, gud good, msg message, 2day today, 2nite tonight, 2nyt
        tonight, 2moro tomorrow, 2morow tomorrow, 2morrow tomorrow, b4 before, gr8 great, l8r later, l8 late,
        m8 mate, w8 wait, tonite tonight, tnite tonight, morn morning, thru through, didnae didnt, cannae
        cant, couldnae couldnt, havenae havent, wasnae wasnt, dinnae dont, didn didnt, didnot didnt, coudnt
        couldnt, couldn couldnt, havn havent, doin doing, goin going, nite night, lunchtym lunchtime, sesh
        session, todayy today, pleas please, ur your
    """,
    numbers="""
        tw0 2, tqo 2, teo 2, ywo 2, rwo 2, towo 2, thrre 3, threr 3, thrwe 3, thtee 3, theree 3, thrree 3,
        trhee 3, ome 1, onw 1, pne 1, fpur 4, fuour 4, zero 0, one 1, two 2, three 3, four 4, five 5, six 6,
        seven 7, eight 8, nine 9, ten 10, eleven 11, twelve 12, thirteen 13, fourteen 14, fifteen 15, sixteen
        16, seventeen 17, eighteen 18, nineteen 19, twenty 20, thirty 30, forty 40, fifty 50, sixty 60,
        seventy 70, eighty 80, ninety 90, hundred 100, dozen 12, tow 2, wto 2, twoo 2, twp 2, thre 3, htree 3,
        therr 3, threee 3, oen 1, onr 1, noe 1, fuor 4, foru 4, fourr 4, fiv 5, fivee 5, zeor 0, zer 0, ziro 0
    """,
    once="once 1, twice 2, thrice 3, twise 2, onec 1, twcie 2",
    ordinals="first 1, second 2, third 3, fourth 4, fifth 5, sixth 6, last -1, final -1",
    days="""
        todays 0, today 0, 2day 0, tdy 0, toady 0, todya 0, for today 0, yesterday 1, yest 1, yday 1, ystd 1,
        yesterdays 1, for yesterday 1, from yesterday 1, last night 1, yesterday night 1, yesterday evening 1,
        yesterday morning 1, yesterday afternoon 1, day before yesterday 2, the day before yesterday 2, the
        day before 2, yester day 1, yesteday 1, yestrday 1, ysterday 1, yesturday 1, yestreday 1, last nite 1,
        lastnight 1, lst night 1, last nyt 1, lastnite 1, yeserday 1, yesterdy 1, ydy 1, two nights ago 2, the
        night before last 2, night before last 2, 2 nights ago 2, two days ago 2, eysterday 1, yestersay 1
    """,
    vague_days="""
        a month ago, a week ago, weeks ago, months ago, a year ago, ages ago, a few weeks ago, years ago, a
        few months ago, a while ago, a while back, weeks back, the week before, the other day, last week, this
        week, at the weekend, over the weekend, weekend, the weekend, a few days ago, last month, a couple of
        days ago, both days, each day this week, in the week, so far this week, couple of days ago, few days
        ago, earlier this week, this month, other day, most of the week, at weekend, last weekend, this
        weekend
    """,
    weekdays="""
        monday 0, tuesday 1, wednesday 2, thursday 3, friday 4, saturday 5, sunday 6, mon 0, tue 1, tues 1,
        wed 2, weds 2, thu 3, thur 3, thurs 3, fri 4, sat 5, sun 6, mondays 0, tuesdays 1, wednesdays 2,
        thursdays 3, fridays 4, saturdays 5, sundays 6, wensday 2, wednsday 2, satuday 5, firday 4, teusday 1,
        thrusday 3, mondya 0, sundy 6
    """,
    short_weekdays="fri, mon, sat, sun, thu, tue, wed",
    months="""
        january 1, february 2, march 3, april 4, may 5, june 6, july 7, august 8, september 9, october 10,
        november 11, december 12, jan 1, feb 2, mar 3, apr 4, jun 6, jul 7, aug 8, sept 9, sep 9, oct 10, nov
        11, dec 12
    """,
    wishes={
        Wish.CALL_ME: """
            call me, ring me, phone me, give me a call, give me a ring, call me back, ring me back, please
            call, please ring, want a call, would like a call, like a call back, call back please, speak to
            someone, talk to someone, speak to my physio, talk to my physio, speak to you, someone call,
            someone ring, need a call, a call please, have a call, ask her to call, phone call please, call
            back, callback, get a call
        """,
        Wish.NO_MORE_TODAY: """
            no more for me, no more for now, no more for me tonight, i am done, i am finished, i am done for
            today, i am finished for today, i am done for the day, no more today, thats it for today, thats
            it, thats all, thats all for today, done for today, done for the day, finished for today, finished
            for the day, enough for today, no more for today, calling it a day, call it a day, no more
            tonight, thats me, thats me done, thats me for today, thats me done for today, no others, thats me
            done for the day, that will do for today, not doing any more, didnt do any more, wont do any more,
            cant do any more, not doing any more today, that is all, that is it, leave it for today, leave it
            there, thats enough, thats enough for today, thats your lot, thats my lot, thats my lot for today,
            thats my lot for the day, wont manage any more, cant manage any more, im done, couldnt do any
            more, couldnt manage any more, wont be doing any more, no more sets, thats me finished, all for
            today, no further sets, thats it for the day, thats all for the day, im finished, not going to do
            any more, no more from me, stop for today, stop for the day, stop for tonight, stopping for
            today, stopping for the day
        """,
        Wish.LATER: """
            not yet done, not done just yet, ask me, ask me at, remind me at, give me, gimme, not just now,
            later, not yet, not now, in a bit, in a minute, in a sec, in an hour, in a while, remind me later,
            remind me, ask me later, ask again, bit later, havent yet, will do later, soon, doing it now,
            doing them now, about to, on it, do it later, do them later, will do, in a mo, in a moment, busy
            now, busy right now, snooze, later today, when baby sleeps, not just yet, havent had the chance
            yet, havent had a chance yet, give me an hour, busy at the moment, give me a minute, give me a
            bit, try later, havent started, havent started yet, later on, ltr, l8r, laters, this evening
            instead, tonight instead, havent done it yet, havent done them yet, havent done mine yet, not done
            yet, not done it yet, havent got to it yet, havent done yet, not right now, yet to do them, yet to
            do it, after lunch, about to do it, about to start, havent had time yet, not had time yet, not had
            a chance yet, bit busy, ask me tonight, havent managed yet, not managed yet, ask me again, not
            started, not started yet, will try later, will do it, will do them
        """,
    },
    whole_wishes={
        Wish.STOP: """
            stop, stop messages, unsubscribe, stop texting me, stop messaging me, stop it, quit, cancel, stop
            all messages, opt out, stop these messages, leave me alone, delete me, stop sending, stop
            reminders, stop the reminders, stop this, stop the messages, no more messages, stop sending me
            messages, dont message me, dont message me anymore, end this, dont text me, remove me, stop
            everything, no more reminders, no more texts, stop texting, stop messaging, stop sending these
        """,
        Wish.NO_MORE_TODAY: "no more",
        Wish.HELP: """
            help, info, commands, menu, options, help me, how does this work, what can you do, what do i do,
            how do i use this, what do i type, what can i type, how does it work
        """,
        Wish.PAUSE: """
            pause, pause please, take a break, need a break, pause reminders, pause for, pause it, holiday, on
            holiday, going on holiday, pause messages, pause the reminders, need a pause, have a break, break
            please, pause everything, pause the programme, pause until, pause till, on holidays, away on
            holiday, pause the messages, pause this
        """,
        Wish.RESUME: """
            resume, start again, im back, unpause, continue, restart, carry on, back again, start up again,
            ready again, back now, resume please, resume reminders, start reminders again, back on it, im back
            now, back from holiday, ready to start again, start me again, end pause, end the pause, keep going
        """,
        Wish.YES: """
            yes, yeah, yep, yup, sure, y, aye, yes please, ok, okay, of course, correct, right, thats right,
            yea, yess, yeh, ok then, okey dokey, alright, all right, fine, k, okie, ye, definitely,
            absolutely, agreed, yess please, i do
        """,
        Wish.NO: """
            no, nope, nah, naw, n, nay, noo, noope, nopes, no thanks, no thank you, no way, afraid not, im
            afraid not
        """,
    },
    named_ones="""
        nap time one, my nap time one, nap time set, naptime one, naptime set, nap one, quick one, a quick
        one, short one, a short one, a long one, slow one, a slow one, long one, the breakfast one, the
        breakfast set, the teatime one, the teatime set, teatime one, teatime set, dinner one, the dinner one,
        the next one, next one, the next, next, this one, that one, the morning one, the last one, this set,
        that set, morning one, evening one, lunchtime one, lunch one, afternoon one, night one, midday one,
        morning set, evening set, afternoon set, lunchtime set, midday set, night set, bedtime set, bedtime
        one, noon set, noon one, breakfast set, breakfast one, lunch set, this mornings, this mornings one,
        this mornings set, tonights, tonights one, tonights set, this evenings, this evenings one, this
        evenings set, the evening one, the lunchtime one, the afternoon one, my morning one, my evening one,
        my morning set, my evening set, the morning set, the evening set, the lunch one, the afternoon set,
        the midday one, the bedtime one, that last one, this last one, this afternoons one, this afternoons,
        my lunchtime one, the lunchtime set, the night one, the bedtime set, my bedtime one, my lunchtime set,
        my afternoon one, my afternoon set, the midday set
    """,
    units="""
        step, steps back, question, problem, glass, trip, stitch, cake, tea, shower, decade, parcel, bit,
        slice, try, attempt, point, star, wake up, wakeup, wakeups, blankets, loaves, packs, pack, boxes, box,
        courses, course, operations, operation, sections, csections, section, births, birth, pregnancies,
        miscarriages, falls, fall, message, email, emails, mls, mg, mcg, iu, ft, foot, feet, bottles, bottle,
        spoons, tabs, tab, tablet, capsules, capsule, puffs, units, unit, wk old, day old, scoops, loads of
        washing, episodes, chapters, rooms, floors, flights of stairs, yoga, poops, pees, dirty nappies, wet
        nappies, diapers, diaper, contractions apart, minutes apart, days old, hours sleep, weeks pp, months
        pp, weeks postpartum, months postpartum, inches, nurofen, ibuprofen, tylenol, advil, antibiotics,
        pads, centimetres, centimeters, meters, liters, liter, kilos, kilo, ounces, ounce, grams, stone, inch,
        doses, jabs, teeth, s, sec, secs, second, seconds, m, min, mins, minute, minutes, h, hr, hrs, hour,
        hours, day, days, week, weeks, wk, wks, month, months, mth, mths, mo, year, years, yr, yrs, kg, kgs,
        g, gram, lb, lbs, pound, pounds, quid, euro, euros, dollars, dollar, pence, p, ml, l, litre, litres,
        oz, mm, cm, metres, km, mile, miles, k, c, f, degrees, degree, finger, fingers, fingerwidths, percent,
        percentage, steps, nights, night, feeds, feed, nappies, nappy, pad, wees, wee, poos, poo, glasses,
        cups, cup, biscuit, coffee, coffees, tablets, pills, paracetamol, stitches, clots, clot, oclock,
        breaths, pushups, squats, planks, plank, situps, crunches, lunges, bridges, walks, walk, wakes, wake,
        wakings, naps, nap, loads, appointments, appointment, calls, messages, texts, coughs, sneezes, wpp,
        kicks, scans, dogs, dog, cats, jobs, questions, things, thing, problems, bags, bag, flights, meals,
        meal, pints, drinks, wines, wine, beats, bpm, calories, kcal, toilet, trips, seater, ways, reminders,
        reminder, notes, photos, options, visits, visit, tries, attempts, points, stars, hundred, weeker,
        cakes, biscuits, teas, toilets, showers, fingerbreadths, decades, parcels, buses, trains, bits,
        slices, times a day, times a week
    """,
    selves="i, ive, weve",
    openers="leaked, leaking, dribbled, did, managed",
    ago="ago",
    dated="on the",
    soon="in",
    short_units="min, mins, minute, minutes, hour, hours, hr, hrs, m, h",
    last="last, on, this past, past, this",
    next="next, until, till, til, by, from, since, every, coming",
    homely="""
        little one, little ones, wee one, young one, our little one, my little one, up, been, be, were, there,
        here, them, their, we, with, baby, babys, asleep, sleeping, slept, nap, napping, napped, nap time,
        feed, feeding, fed, feeds, school, run, nursery, tv, telly, kitchen, kettle, boiled, boiling, shower,
        bath, car, bus, train, work, office, sofa, couch, bed, pram, walk, walking, husband, partner, mum,
        toddler, kids, coffee, tea, cup, teeth, brushing, brushed, cooking, washing, dishes, waiting, queue,
        traffic, driving, park, home, house, she, he, her, his, they, woke, woken, waking, cot, bottle, nappy,
        changing, watching, film, book, reading, phone, little, visitors, friends, shopping, supermarket,
        doing, making, playing, cuddles, son, daughter, to, of, in, it, that, is, am, are, this, when, what,
        where, which, or, got, get, went, go, going, took, day, was
    """,
    body="""
        symptom, symptoms, effects, dizziness, nausea, is ill, are ill, was ill, were ill, im ill, am ill,
        both ill, all ill, really ill, so ill, very ill, feeling ill, felt ill, bit ill, been ill, ill today,
        ill baby, too ill, being ill, peed, vomited, pain, pains, hurt, hurts, hurting, painful, sore,
        soreness, ache, aches, aching, leak, leaked, leaking, leaks, blood, bleed, bleeding, bled, clot,
        clots, heavy, heaviness, bulge, bulging, lump, dragging, dizzy, faint, fever, temp, temperature, numb,
        numbness, tingling, burning, stinging, swollen, swelling, discharge, smell, smelly, chest, breath,
        breathe, breathless, breathing, headache, vision, calf, leg, rash, sick, vomiting, wee, pee, urine,
        poo, doming, cone, coning, stitches, wound, infection, scared, crying, cry, cried, sad, hopeless,
        anxious, panic, depressed, worried, fell, fall, weird, strange, wrong, worse, worst, cramp, cramps,
        cramping, stabbing, sharp, pregnant, pressure, spasm, spasms, unwell, ill, poorly, hospital, die,
        dead, kill, hit, hits, unsafe, accident, discomfort, spotting, ouch, ouchy, twinge, itchy, bladder,
        bowel, prolapse, tear, section, scar, doctor, gp, midwife, ambulance, period, miscarriage, leakage,
        low, tearful, alone, afraid, fainted, collapsed, floppy, blue, limp, seizure, stiff, funny
    """,
)
