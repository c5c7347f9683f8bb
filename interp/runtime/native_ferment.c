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

#define FEW_YEASTS_ABV 16 /* common practice: above it most yeasts stop, whatever sugar is left */

/* ---- faults ---- */

/* A gravity with the decimals it has, from three to `most`. */
static void add_exact(Text *out, double gravity_sg, int most) {
    int places = 3;
    while (places < most && fabs(gravity_sg - round(gravity_sg * pow(10, places)) / pow(10, places)) > 1e-9)
        places++;
    native_liquid_add_gravity(out, gravity_sg, places);
}

/* The limit of a gravity asked for, upwards, as that can be reached; with the decimals that tell the two
 * apart. */
static void add_limit(Text *lowest, const char *asked, double lowest_sg) {
    for (int places = 4; places <= 9; places++) {
        double scale = pow(10, places);
        text_clear(lowest);
        native_liquid_add_gravity(lowest, ceil(lowest_sg * scale - 1e-5) / scale, places);
        if (strcmp(asked, text_string(lowest)) != 0)
            return;
    }
}

/* The target as it can be typed again. */
static void add_asked(Text *out, const Call *call, int index, double target) {
    if (index == FERMENT_TO)
        add_exact(out, target, 6);
    else
        native_liquid_add_argument(out, call, index);
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
static void hint_share(Call *call, int index, double target, const Liquid *before,
                       const FermentLimit *limit) {
    Text gravity = {0}, share = {0}, asked = {0};
    double printed_sg = round(liquid_gravity_sg(before) * 1e4) / 1e4;
    add_exact(&gravity, printed_sg, 4);
    format_places(&share, share_percent(printed_sg, index, target, limit->unfermentable_share), 1);
    add_asked(&asked, call, index, target);
    fault_hint_with(call->arith.fault,
                    "that gravity shows that yeast left less of the solids: "
                    "ferment(juice(gravity: %1, unfermentable: %2%), %3: %4)",
                    ARGS(text_string(&gravity), text_string(&share),
                         index == FERMENT_ATTENUATION ? "attenuation" : "to", text_string(&asked)));
    text_free(&gravity);
    text_free(&share);
    text_free(&asked);
}

/* The same for a liquid that has fermented already: a share of what was in its juice is not known here. */
static void hint_solids(Call *call, const Liquid *before, const FermentLimit *limit) {
    Text most = {0}, told = {0};
    double volume_l = liquid_volume_l(before), all_kg = before->sugar_kg + before->solids_kg;
    format_places(&most, floor(1e4 * limit->unfermentable_share * all_kg / volume_l) / 10, 1);
    format_places(&told, 1e3 * before->solids_kg / volume_l, 1);
    fault_hint_with(
        call->arith.fault,
        "that gravity shows that yeast left at most %1 g/L of its solids, not %2 g/L: make the juice with a "
        "smaller `unfermentable`",
        ARGS(text_string(&most), text_string(&told)));
    text_free(&most);
    text_free(&told);
}

/* Unfermented, and not a blend with what brings solids of other sorts. */
static bool is_juice(const Liquid *liquid) {
    double all_kg = liquid->sugar_kg + liquid->solids_kg;
    return liquid->alcohol_kg <= 0 &&
           fabs(liquid->least_kg - LIQUID_JUICE_INERT_SHARE * all_kg) <= 1e-9 * all_kg;
}

static bool fail_too_low(Call *call, int index, double target, const Liquid *before,
                         const FermentLimit *limit) {
    Text asked = {0}, lowest = {0};
    add_asked(&asked, call, index, target);
    add_limit(&lowest, text_string(&asked), limit->lowest_sg);
    native_fail(call, index, MSG_LIQUID_FINAL_TOO_LOW, ARGS(text_string(&asked), text_string(&lowest)));
    bool by_floor = FERMENT_FLOOR < call->count && !native_absent(call, FERMENT_FLOOR);
    if (by_floor || (before->least_kg == 0 && before->inert_kg > 0 && before->assumed_kg == 0))
        fault_hint(call->arith.fault,
                   "a reading below the floor disproves it: let the sample ferment on, and read its "
                   "gravity again");
    else if (limit->reachable && !is_juice(before))
        hint_solids(call, before, limit);
    else if (limit->reachable)
        hint_share(call, index, target, before, limit);
    else
        fault_hint(call->arith.fault, "not even if all solids were sugar: check both gravities");
    text_free(&asked);
    text_free(&lowest);
    return false;
}

static bool fail_at_present(Call *call, int index, MessageId id, const Liquid *liquid) {
    Text asked = {0}, now = {0};
    double asked_sg = 0;
    if (call->args[index].unit == UNIT_SG && native_in(call, index, UNIT_SG, &asked_sg))
        add_exact(&asked, asked_sg, 6);
    else
        native_liquid_add_argument(&asked, call, index);
    native_liquid_add_gravity(&now, liquid_gravity_sg(liquid), 4);
    native_fail(call, index, id, ARGS(text_string(&asked), text_string(&now)));
    text_free(&asked);
    text_free(&now);
    return false;
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

static const char floor_decides[] = "bottles: the floor decides how much sugar counts: one point (0.001 SG) "
                                    "is about 2 g/L and 0.7 bar; read it and "
                                    "the gravity with one instrument at one temperature";
static const char solids_unknown[] =
    "bottles: a final gravity here is lower than a juice of which 10 % of the solids stay can reach, so how "
    "much sugar "
    "is left is not known: do not bottle by these figures until a forced sample has shown the floor";

static void give_caution(const Call *call, const char *text) {
    if (call->context->caution)
        call->context->caution(call->context->callback_context, text, text);
}

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
        give_caution(call, floor_decides);
    return native_liquid_outcome(call, index, outcome);
}

/* ---- notes ---- */

static void give_note(const Call *call, const Text *text) {
    if (call->context->note)
        call->context->note(call->context->callback_context, text_string(text));
}

/* A reading below what the assumed share allows: what it shows of that share. */
static void note_lowered(const Call *call, const Liquid *before, const Liquid *after,
                         const FermentLimit *limit) {
    Text text = {0};
    text_add_string(&text, "a final gravity of ");
    add_exact(&text, liquid_gravity_sg(after), 4);
    text_add_string(&text, " shows that yeast left ");
    if (before->alcohol_kg > 0) { /* what it was a share of is not known any more */
        double solids_g_l = 0;
        liquid_get(after, LIQUID_SOLIDS_G_L, &solids_g_l);
        text_add_string(&text, "at most ");
        format_places(&text, solids_g_l, 1);
        text_add_string(&text, " g/L of dissolved solids, less than was assumed");
    } else {
        double all_kg = before->sugar_kg + before->solids_kg;
        text_add_string(&text, "at most ");
        format_places(&text, floor(limit->unfermentable_share * 1000) / 10, 1);
        text_add_string(&text, " % of the dissolved solids, not the ");
        format_places(&text, 100 * before->solids_kg / all_kg, 0);
        text_add_string(&text, " % assumed");
    }
    give_note(call, &text);
    text_free(&text);
}

static void note_strong(const Call *call, const Liquid *before, const Liquid *after) {
    double strength_abv = liquid_strength_abv(after);
    if (strength_abv <= FEW_YEASTS_ABV || after->alcohol_kg <= before->alcohol_kg)
        return;
    Text text = {0};
    text_add_string(&text, "few yeasts ferment beyond 16 %ABV, and this would reach ");
    format_places(&text, strength_abv, 1);
    text_add_string(&text, " %ABV; give the limit of yours: tolerance: 14 %ABV");
    give_note(call, &text);
    text_free(&text);
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
    if (limit.lowered)
        note_lowered(call, &before, &after, &limit);
    if (after.disproved && (index == FERMENT_TO || index == FERMENT_ATTENUATION))
        give_caution(call, solids_unknown);
    if (index != FERMENT_TOLERANCE)
        note_strong(call, &before, &after);
    if (!liquid_value_make(&call->arith, &after, liquid->money, &call->result))
        return false;
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
    if (liquid.disproved) {
        Text gravity = {0}, most = {0};
        add_exact(&gravity, liquid_gravity_sg(&liquid), 4);
        format_places(&most, sugar_g_l, 1);
        native_fail(call, 0, MSG_LIQUID_BOTTLE_UNKNOWN, ARGS(text_string(&gravity), text_string(&most)));
        text_free(&gravity);
        text_free(&most);
        return false;
    }
    return native_give(call, sugar_g_l, UNIT_G_PER_L);
}

static bool needs_floor_native(Call *call) {
    call->result = value_truth(native_liquid(call, 0)->liquid.disproved);
    return true;
}

static const Native rows[] = {
    NATIVE(bottle_sugar),
    NATIVE(ferment),
    NATIVE(needs_floor),
};

const NativeTable native_ferment_table = NATIVE_TABLE(rows);
