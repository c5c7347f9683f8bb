/* SPDX-FileCopyrightText: the Rundlet developers */
/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Natives that ferment a liquid, and judge what may still ferment in it. The balance is in physics/liquid.c;
 * here a reading meets what was told or assumed of the solids, and each contradiction is worded. */
#include <math.h>
#include <string.h>

#include "runtime/cautions.h"
#include "runtime/native_liquid.h"
#include "runtime/native_tables.h"
#include "values/kind_check.h"
#include "values/liquid_value.h"
#include "values/value_arg.h"

#define FEW_YEASTS_ABV 16 /* common practice: above it most yeasts stop, whatever sugar is left */

/* ---- faults ---- */

/* A gravity with the decimals it has, from three to `most`. */
static MessageArg exact(double gravity_sg, int most) {
    int places = 3;
    while (places < most && fabs(gravity_sg - round(gravity_sg * pow(10, places)) / pow(10, places)) > 1e-9)
        places++;
    return arg_places(gravity_sg, places, "SG");
}

/* The limit of a gravity asked for, upwards, as that can be reached; with the decimals that tell the two
 * apart. */
static MessageArg limit_beside(const char *asked, double lowest_sg) {
    for (int places = 4;; places++) {
        double scale = pow(10, places);
        MessageArg lowest = arg_places(ceil(lowest_sg * scale - 1e-5) / scale, places, "SG");
        if (places == 9 || strcmp(asked, lowest.text) != 0)
            return lowest;
        args_free((MessageArg[]){lowest, {0}});
    }
}

/* The target as it can be typed again. */
static MessageArg asked(const Call *call, int index, double target) {
    return index == FERMENT_TO ? exact(target, 6) : arg_value(call->arith.units, call->args[index]);
}

/* The largest share, %, with which the printed call holds: that of a juice of the gravity as printed. */
static double share_percent(double gravity_sg, int index, double target, double by_itself) {
    Liquid juice, after;
    FermentLimit limit = {0};
    bool made = liquid_make_juice(gravity_sg, 1, &juice) == LIQUID_OK;
    if (made && index == FERMENT_ATTENUATION)
        liquid_ferment_to_attenuation(&juice, target, &after, &limit);
    else if (made)
        liquid_ferment_to_gravity(&juice, target, &after, &limit);
    return floor((limit.reachable ? limit.unfermentable_share : by_itself) * 1000) / 10;
}

/* What to type instead: the whole call where the liquid is an unfermented juice. */
static bool hint_share(Call *call, int index, double target, const Liquid *before,
                       const FermentLimit *limit) {
    double printed_sg = round(liquid_gravity_sg(before) * 1e4) / 1e4;
    double percent = share_percent(printed_sg, index, target, limit->unfermentable_share);
    return fault_hint(call->arith.fault,
                      index == FERMENT_ATTENUATION ? HINT_SHARE_BY_ATTENUATION : HINT_SHARE_BY_GRAVITY,
                      ARGS(exact(printed_sg, 4), arg_places(percent, 1, ""), asked(call, index, target)));
}

/* The same for a liquid that has fermented already: a share of what was in its juice is not known here. */
static bool hint_solids(Call *call, const Liquid *before, const FermentLimit *limit) {
    double volume_l = liquid_volume_l(before), all_kg = before->sugar_kg + before->solids_kg;
    double most_g_l = floor(1e4 * limit->unfermentable_share * all_kg / volume_l) / 10;
    return fault_hint(
        call->arith.fault, HINT_SOLIDS_MOST,
        ARGS(arg_places(most_g_l, 1, "g/L"), arg_places(1e3 * before->solids_kg / volume_l, 1, "g/L")));
}

/* Unfermented, and not a blend with what brings solids of other sorts: of those `inert_share` is sure to
 * stay. */
static bool is_plain(const Liquid *liquid, double inert_share) {
    double all_kg = liquid->sugar_kg + liquid->solids_kg;
    return liquid->alcohol_kg <= 0 && fabs(liquid->least_kg - inert_share * all_kg) <= 1e-9 * all_kg;
}

static bool hint_malt_share(Call *call, const FermentLimit *limit) {
    double percent = floor(limit->unfermentable_share * 1000) / 10;
    return fault_hint(call->arith.fault, HINT_MALT_SHARE_LESS, ARGS(arg_places(percent, 1, "%")));
}

static bool fail_too_low(Call *call, int index, double target, const Liquid *before,
                         const FermentLimit *limit) {
    MessageArg wanted = asked(call, index, target);
    native_fail(call, index, MSG_LIQUID_FINAL_TOO_LOW,
                ARGS(wanted, limit_beside(wanted.text, limit->lowest_sg)));
    bool by_floor = FERMENT_FLOOR < call->count && !native_absent(call, FERMENT_FLOOR);
    if (by_floor || (before->least_kg == 0 && before->inert_kg > 0 && before->assumed_kg == 0))
        return fault_hint(call->arith.fault, HINT_FLOOR_DISPROVED, NO_ARGS);
    if (!limit->reachable)
        return fault_hint(call->arith.fault, HINT_NOT_EVEN_SUGAR, NO_ARGS);
    if (is_plain(before, LIQUID_MALT_INERT_SHARE))
        return hint_malt_share(call, limit);
    return is_plain(before, LIQUID_JUICE_INERT_SHARE) ? hint_share(call, index, target, before, limit)
                                                      : hint_solids(call, before, limit);
}

static bool fail_at_present(Call *call, int index, MessageId id, const Liquid *liquid) {
    double asked_sg = 0;
    bool is_sg = call->args[index].unit == UNIT_SG && native_in(call, index, UNIT_SG, &asked_sg);
    return native_fail(call, index, id,
                       ARGS(is_sg ? exact(asked_sg, 6) : arg_value(call->arith.units, call->args[index]),
                            arg_places(liquid_gravity_sg(liquid), 4, "SG")));
}

bool native_liquid_fermented(Call *call, int index, double target, LiquidResult outcome, const Liquid *before,
                             const FermentLimit *limit) {
    if (outcome == LIQUID_FINAL_TOO_LOW)
        return fail_too_low(call, index, target, before, limit);
    if (outcome == LIQUID_FINAL_ABOVE_PRESENT)
        return fail_at_present(call, index, MSG_LIQUID_FINAL_ABOVE_PRESENT, before);
    return native_liquid_outcome(call, index, outcome);
}

/* ---- the floor ---- */

bool native_liquid_floor(Call *call, int index, Liquid *liquid) {
    double floor_sg = 0;
    if (native_absent(call, index) || call->args[index].tag == TAG_NONE)
        return true;
    if (!native_in(call, index, UNIT_SG, &floor_sg))
        return false;
    LiquidResult outcome = liquid_set_floor(liquid, floor_sg, liquid);
    if (outcome == LIQUID_FINAL_ABOVE_PRESENT)
        return fail_at_present(call, index, MSG_LIQUID_FLOOR_ABOVE_PRESENT, liquid);
    if (outcome == LIQUID_FINAL_TOO_LOW)
        return fail_at_present(call, index, MSG_LIQUID_FLOOR_TOO_LOW, liquid);
    if (outcome == LIQUID_OK)
        native_caution(call->context, NULL, CAUTION_FLOOR_DECIDES, NO_ARGS);
    return native_liquid_outcome(call, index, outcome);
}

/* ---- notes ---- */

/* How low a liquid is known to go, by what it came from. */
static MessageArg lowest_known(const Liquid *liquid) {
    const double rounding = 1e-3; /* as in stdlib/carbonation.rlet */
    double share = liquid_malt_share(liquid);
    return arg_phrase(share > 1 - rounding ? PHRASE_LOWEST_OF_MALT
                      : share > rounding   ? PHRASE_LOWEST_OF_BOTH
                                           : PHRASE_LOWEST_OF_JUICE,
                      NO_ARGS);
}

/* A reading below what the assumed share allows: what it shows of that share. */
static void note_lowered(const Call *call, const Liquid *before, const Liquid *after,
                         const FermentLimit *limit) {
    MessageArg gravity = exact(liquid_gravity_sg(after), 4);
    if (before->alcohol_kg > 0) { /* what it was a share of is not known any more */
        double solids_g_l = 0;
        liquid_get(after, LIQUID_SOLIDS_G_L, &solids_g_l);
        native_note(call, NOTE_SOLIDS_LEFT, ARGS(gravity, arg_places(solids_g_l, 1, "g/L")));
        return;
    }
    double all_kg = before->sugar_kg + before->solids_kg;
    native_note(call, NOTE_SOLIDS_SHARE,
                ARGS(gravity, arg_places(floor(limit->unfermentable_share * 1000) / 10, 1, "%"),
                     arg_places(100 * before->solids_kg / all_kg, 0, "%")));
}

static void note_strong(const Call *call, const Liquid *before, const Liquid *after) {
    double strength_abv = liquid_strength_abv(after);
    if (strength_abv > FEW_YEASTS_ABV && after->alcohol_kg > before->alcohol_kg)
        native_note(call, NOTE_STRONG, ARGS(arg_places(strength_abv, 1, "%ABV")));
}

/* ---- fermentation ---- */

static bool read_target(Call *call, int index, double *target) {
    if (index == FERMENT_ATTENUATION) {
        bool read = native_within(call, index, UNIT_PERCENT, 0, 200, target);
        *target /= 100;
        return read;
    }
    if (index == FERMENT_TO)
        return native_in(call, index, UNIT_SG, target);
    return index == FERMENT_LIQUID || native_in(call, index, UNIT_ABV, target);
}

/* The one target given, FERMENT_LIQUID for none, -1 after a fault. */
static int which_target(Call *call) {
    int index = FERMENT_LIQUID;
    for (int i = FERMENT_TO; i <= FERMENT_ATTENUATION; i++) {
        if (native_absent(call, i))
            continue;
        if (index != FERMENT_LIQUID) {
            native_fail(call, i, MSG_LIQUID_TWO_TARGETS, NO_ARGS);
            return -1;
        }
        index = i;
    }
    return index;
}

static LiquidResult ferment(const Liquid *liquid, int index, double target, Liquid *after,
                            FermentLimit *limit) {
    switch (index) {
    case FERMENT_TO:
        return liquid_ferment_to_gravity(liquid, target, after, limit);
    case FERMENT_TOLERANCE:
        return liquid_ferment_to_strength(liquid, target, after);
    case FERMENT_ATTENUATION:
        return liquid_ferment_to_attenuation(liquid, target, after, limit);
    default:
        return liquid_ferment(liquid, after);
    }
}

static bool ferment_native(Call *call) {
    LiquidObject *liquid = native_liquid(call, FERMENT_LIQUID);
    Liquid after = {0};
    FermentLimit limit = {0};
    double target = 0;
    Liquid before = liquid->liquid;
    int index = which_target(call);
    if (index < 0 || !read_target(call, index, &target) || !native_liquid_floor(call, FERMENT_FLOOR, &before))
        return false;
    LiquidResult outcome = ferment(&before, index, target, &after, &limit);
    if (outcome == LIQUID_EMPTY)
        return native_liquid_outcome(call, FERMENT_LIQUID, outcome);
    if (outcome == LIQUID_GRAVITY_OUT_OF_RANGE && index == FERMENT_ATTENUATION)
        return fail_at_present(call, index, MSG_LIQUID_NO_ATTENUATION, &before);
    if (!native_liquid_fermented(call, index, target, outcome, &before, &limit))
        return false;
    bool is_told = index == FERMENT_TO || index == FERMENT_ATTENUATION;
    after.unread = !is_told && (before.unread || after.alcohol_kg > before.alcohol_kg);
    if (limit.lowered)
        note_lowered(call, &before, &after, &limit);
    if (after.disproved && (index == FERMENT_TO || index == FERMENT_ATTENUATION))
        native_caution(call->context, NULL, CAUTION_SOLIDS_UNKNOWN, ARGS(lowest_known(&after)));
    if (index != FERMENT_TOLERANCE)
        note_strong(call, &before, &after);
    if (!liquid_value_make(&call->arith, &after, liquid->money, &call->result))
        return false;
    liquid_value_keep_units(call->result.as.liquid, liquid);
    caution_fermented(call->context, &before, &after);
    return true;
}

/* ---- what may ferment in a closed bottle ---- */

static bool bottle_sugar_native(Call *call) {
    double sugar_g_l = 0;
    Liquid liquid = native_liquid(call, 0)->liquid;
    if (liquid.sweetened && !native_absent(call, 1) && call->args[1].tag != TAG_NONE)
        return native_fail(call, 1, MSG_LIQUID_FLOOR_SWEETENED, NO_ARGS);
    if (!native_liquid_floor(call, 1, &liquid) ||
        !native_liquid_outcome(call, 0, liquid_get(&liquid, LIQUID_SUGAR_MOST_G_L, &sugar_g_l)))
        return false;
    if (liquid.disproved)
        return native_fail(
            call, 0, MSG_LIQUID_BOTTLE_UNKNOWN,
            ARGS(exact(liquid_gravity_sg(&liquid), 4), arg_places(sugar_g_l, 1, ""), lowest_known(&liquid)));
    return native_give(call, sugar_g_l, UNIT_G_PER_L);
}

static bool needs_floor_native(Call *call) {
    call->result = value_truth(native_liquid(call, 0)->liquid.disproved);
    return true;
}

/* Was its last fermentation worked out, and ended at no reading? */
static bool unread_native(Call *call) {
    call->result = value_truth(native_liquid(call, 0)->liquid.unread);
    return true;
}

static bool malt_share_native(Call *call) {
    return native_give(call, liquid_malt_share(&native_liquid(call, 0)->liquid), UNIT_NUMBER);
}

static const Native rows[] = {
    NATIVE(bottle_sugar), NATIVE(ferment), NATIVE(malt_share), NATIVE(needs_floor), NATIVE(unread),
};

const NativeTable native_ferment_table = NATIVE_TABLE(rows);
