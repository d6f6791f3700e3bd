/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/state.h"

#include <math.h>

static efi_belt_piece *piece_at(const efi_run_belt *belt, int place)
{
    return &belt->piece[(belt->first + place) % belt->room];
}

double efi_belt_content_t(const efi_run_belt *belt)
{
    double content_t = 0.0;
    for (int p = 0; p < belt->count; p++)
        content_t += piece_at(belt, p)->rate_tph * piece_at(belt, p)->length_h;
    return content_t;
}

bool efi_belt_is_empty(const efi_run_belt *belt)
{
    return belt->count == 1 && !(piece_at(belt, 0)->rate_tph > 0.0);
}

int efi_belt_lot(const efi_engine *engine, int k)
{
    const efi_run_belt *belt = &engine->belt[k];
    for (int p = 0; p < belt->count; p++)
        if (piece_at(belt, p)->rate_tph > 0.0)
            return piece_at(belt, p)->lot;
    return engine->lot[belt->station].lot;
}

void efi_belt_settle(efi_run_belt *belt, double now_h)
{
    const double hours = now_h - belt->since_h;
    belt->since_h = now_h;
    if (!(hours > 0.0))
        return;
    const double moved_h = belt->speed * hours;
    piece_at(belt, 0)->length_h -= moved_h;
    piece_at(belt, belt->count - 1)->length_h += moved_h;
    efi_sum_add(&belt->out_t, belt->out_tph * hours);
}

static bool is_moving(const efi_engine *engine, const efi_run_belt *belt)
{
    return engine->station[belt->station].running > 0 && !efi_lots_closed(engine, belt->station);
}

void efi_belt_prepare(efi_engine *engine, int k)
{
    const efi_run_belt *belt = &engine->belt[k];
    const int i = belt->station;
    engine->rates.capacity_tph[i] = efi_station_present_tph(engine, i);
    engine->rates.discharge_tph[i] = is_moving(engine, belt) ? piece_at(belt, 0)->rate_tph : 0.0;
}

void efi_belt_start(efi_engine *engine, int k)
{
    efi_run_belt *belt = &engine->belt[k];
    belt->since_h = belt->speed = belt->out_tph = 0.0;
    belt->first = 0;
    belt->count = 1;
    belt->piece[0] = (efi_belt_piece){0.0, engine->network->station[belt->station].delay_h, 0};
    efi_belt_prepare(engine, k);
}

void efi_belt_end(efi_engine *engine, int k)
{
    efi_run_belt *belt = &engine->belt[k];
    efi_belt_settle(belt, engine->now_h);
    engine->slot_h[engine->first_belt + k] = INFINITY;
    const int lot = engine->lot ? efi_belt_lot(engine, k) : 0;
    double rest_h;
    do { /* a rest that is rounding goes to the next piece, so that the whole keeps its length */
        rest_h = piece_at(belt, 0)->length_h;
        belt->first = (belt->first + 1) % belt->room;
        belt->count--;
        piece_at(belt, 0)->length_h += rest_h;
    } while (belt->count > 1 && !(piece_at(belt, 0)->length_h > 0.0));
    efi_belt_prepare(engine, k);
    efi_event_note(engine, EFI_EVENT_BELT, belt->station, 0, 0);
    if (engine->lot && efi_belt_lot(engine, k) != lot)
        efi_event_note(engine, EFI_EVENT_LOT_ENDED, belt->station, lot, 0);
}

/* Twice the room for pieces. */
static ef_status grow(efi_engine *engine, efi_run_belt *belt)
{
    efi_belt_piece *more = efi_arena_get(engine->arena, 2 * (size_t)belt->room, sizeof *more);
    if (!more)
        return EF_MEMORY;
    for (int p = 0; p < belt->count; p++)
        more[p] = *piece_at(belt, p);
    belt->piece = more;
    belt->first = 0;
    belt->room *= 2;
    return EF_OK;
}

/* What comes on from now lies so thick that it will come off at `rate_tph` at full speed. */
static ef_status lay(efi_engine *engine, efi_run_belt *belt, double rate_tph)
{
    const int lot = engine->lot ? engine->lot[belt->station].lot : 0;
    efi_belt_piece *last = piece_at(belt, belt->count - 1);
    const double more_tph = rate_tph > last->rate_tph ? rate_tph : last->rate_tph;
    if (fabs(rate_tph - last->rate_tph) <= EFI_SAME_RATE * more_tph &&
        (lot == last->lot || !(more_tph > 0.0)))
        return EF_OK;
    if (belt->count > 1 && !(last->length_h > 0.0)) { /* nothing lies there yet */
        last->rate_tph = rate_tph;
        last->lot = lot;
        return EF_OK;
    }
    if (belt->count == belt->room)
        EF_TRY(grow(engine, belt));
    belt->count++;
    *piece_at(belt, belt->count - 1) = (efi_belt_piece){rate_tph, 0.0, lot};
    return EF_OK;
}

ef_status efi_belt_put(efi_engine *engine, int k)
{
    efi_run_belt *belt = &engine->belt[k];
    const efi_rates *rates = &engine->rates;
    const int i = belt->station;
    efi_belt_settle(belt, engine->now_h);
    belt->speed = is_moving(engine, belt) ? rates->belt_speed[i] : 0.0;
    belt->out_tph = rates->given_tph[i];
    if (belt->speed > 0.0)
        EF_TRY(lay(engine, belt, rates->through_tph[i] / belt->speed));
    const double left_h = piece_at(belt, 0)->length_h;
    engine->slot_h[engine->first_belt + k] = belt->count == 1 || !(belt->speed > 0.0) ? INFINITY
                                             : left_h > 0.0 ? engine->now_h + left_h / belt->speed
                                                            : engine->now_h;
    return EF_OK;
}
