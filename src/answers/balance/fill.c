/* SPDX-License-Identifier: GPL-3.0-or-later
 * From exact feeds to the numbers of the answer. */
#include "answers/balance/balance.h"
#include "model/ways.h"

#include <math.h>
#include <string.h>

/* A feed below its least by less than this share counts as met. */
#define LEAST_FEED_SLACK 1e-9

typedef struct filler {
    ef_balance_crop *crop;
    efi_arena *arena;
    const efi_line *line;
    const double *rate_tph;
    const double *feed_tph; /* shape [station][material] */
    double surge_rule_h;
} filler;

static const double *feed_of(const filler *f, int s)
{
    return f->feed_tph + (size_t)s * (size_t)f->line->materials;
}

/* What counts as wanted at an outlet, or by the plant (NULL). */
static double wanted_of(const filler *f, const efi_station *outlet, const double *material_tph)
{
    const ef_scenario *scenario = f->line->scenario;
    double wanted = 0.0;
    for (int m = 0; m < f->line->materials; m++) {
        const bool is_wanted = outlet ? efi_station_wants(scenario, outlet, m)
                                      : scenario->materials[m].wanted;
        wanted += is_wanted ? material_tph[m] : 0.0;
    }
    return wanted;
}

/* What is made on the line of material that counts as wanted, out of material that does not, t/h. */
static double made_of(const filler *f, const efi_station *outlet)
{
    const ef_scenario *scenario = f->line->scenario;
    const int materials = f->line->materials;
    double made = 0.0;
    for (int s = 0; s < f->line->station_count; s++) {
        const double *turns = f->line->stations[s].turns;
        for (int m = 0; turns && m < materials; m++) {
            if (outlet ? efi_station_wants(scenario, outlet, m) : scenario->materials[m].wanted)
                continue;
            for (int k = 0; k < materials; k++)
                if (outlet ? efi_station_wants(scenario, outlet, k) : scenario->materials[k].wanted)
                    made += turns[m * materials + k] * feed_of(f, s)[m];
        }
    }
    return made;
}

static double ratio(double part, double whole)
{
    return whole > 0.0 ? part / whole : 0.0;
}

static ef_stream stream_of(const filler *f, const double *material_tph)
{
    return (ef_stream){.total_tph = efi_line_total(f->line, material_tph), .material_tph = material_tph};
}

static ef_place place_of(const filler *f, const efi_node *node)
{
    return efi_tree_place(&f->line->scenario->tree, node);
}

/* How many machines are enough for each to get its least feed without one being over its capacity; 0 for
 * none. */
static int enough_machines(const ef_balance_station *station)
{
    const double least_each = station->least_feed_tph / station->count;
    const int machines = (int)floor(station->feed.total_tph / least_each * (1.0 + LEAST_FEED_SLACK));
    if (machines < 1 || machines >= station->count)
        return 0;
    return station->feed_in_unit <= station->capacity / station->count * machines ? machines : 0;
}

/* The value of a key for this crop, or the key where none stands beside it; NULL without such a key. */
static const efi_node *value_node(const filler *f, const efi_station *of, const char *name)
{
    const efi_node *key = efi_node_find_key(of->origin.value, name);
    if (!key)
        return NULL;
    const efi_node *own = efi_node_find(key + 1, f->line->of->name);
    const efi_node *others = efi_node_find(key + 1, "other crops");
    return own ? own : others ? others : key[1].kind == EFI_NODE_TEXT ? key + 1 : key;
}

/* Where the capacity of a station for this crop comes from: its own value, or the size of its buckets, screw,
 * belt or batch. */
static const efi_node *capacity_node(const filler *f, const efi_station *of)
{
    static const char *const sizes[] = {"buckets", "screw", "belt", "batch"};
    const efi_node *own = value_node(f, of, "capacity");
    if (own)
        return own;
    for (size_t i = 0; i < EF_COUNT(sizes); i++) {
        const efi_node *key = efi_node_find_key(of->origin.value, sizes[i]);
        if (key)
            return key;
    }
    return of->origin.key;
}

static void fill_station(const filler *f, int s, ef_balance_station *out)
{
    const efi_line_station *of = &f->line->stations[s];
    const double *feed = feed_of(f, s);
    const int in_line = of->of->line;
    *out = (ef_balance_station){.name = of->of->name,
                                .line = in_line >= 0 ? f->line->scenario->lines[in_line].name : NULL,
                                .kind = efi_station_word((efi_station_kind)of->of->kind),
                                .place = place_of(f, of->of->origin.key),
                                .count = of->of->count,
                                .feed = stream_of(f, feed),
                                .has_density = f->line->has_density};
    out->feed_m3ph = f->line->has_density ? efi_line_volume(f->line, feed) : 0.0;
    if (of->capacity.given) {
        out->has_capacity = true;
        out->capacity = of->capacity.value;
        out->nominal_capacity = of->nominal.value;
        out->derating = of->derating;
        out->peak_factor = of->peak_factor;
        out->capacity_by_volume = of->capacity.of == EFI_KIND_VOLUME_RATE;
        out->capacity_place = place_of(f, capacity_node(f, of->of));
        out->feed_in_unit = out->capacity_by_volume ? out->feed_m3ph : out->feed.total_tph;
        out->slack = out->capacity - out->feed_in_unit;
        out->load = out->feed_in_unit / out->capacity;
        out->limits = out->slack <= EFI_STEADY_LIMIT_SHARE * out->capacity;
        if (out->limits)
            out->slack = 0.0;
    }
    if (of->least_feed.given) {
        out->has_least_feed = true;
        out->least_feed_tph = of->least_feed.value;
        out->under_least_feed = out->feed.total_tph < out->least_feed_tph * (1.0 - LEAST_FEED_SLACK);
        if (out->under_least_feed && out->count > 1)
            out->enough_machines = enough_machines(out);
    }
    out->steady_feed = of->of->steady_band.given;
    out->steady_band = of->of->steady_band.value;
    out->power_kw = of->idle_kw + of->energy_kwhpt * out->feed.total_tph;
    out->air_m3ph = of->of->air_m3ph.given ? of->of->air_m3ph.value * of->of->count : 0.0;
    out->people = of->of->people.given ? of->of->people.value : 0.0;
}

static ef_status fill_holds(const filler *f, int s, ef_balance_outlet *out)
{
    const efi_station *of = f->line->stations[s].of;
    if (!of->holds || !of->holds[f->line->crop].given)
        return EF_OK;
    const efi_node *words = value_node(f, of, "holds");
    out->has_holds = true;
    out->holds = of->holds[f->line->crop].value;
    out->holds_by_volume = of->holds[f->line->crop].of == EFI_KIND_VOLUME;
    out->holds_words = words && words->kind == EFI_NODE_TEXT
                           ? efi_arena_text(f->arena, words->is.text, words->length)
                           : efi_arena_text(f->arena, "", 0);
    if (!out->holds_by_volume)
        out->fills_h = ratio(out->holds, out->flow.total_tph);
    else if (f->line->has_density)
        out->fills_h = ratio(out->holds, efi_line_volume(f->line, feed_of(f, s)));
    return out->holds_words ? EF_OK : EF_MEMORY;
}

static ef_status fill_outlet(const filler *f, int s, ef_balance_outlet *out)
{
    const efi_line_station *of = &f->line->stations[s];
    *out = (ef_balance_outlet){.name = of->of->name,
                               .place = place_of(f, of->of->origin.key),
                               .product = of->of->product,
                               .flow = stream_of(f, feed_of(f, s)),
                               .has_least_rate = of->least_rate.given,
                               .least_rate_tph = of->least_rate.value};
    const double wanted = wanted_of(f, of->of, feed_of(f, s));
    const ef_stream *intake = &f->crop->intake;
    out->share_of_intake = ratio(out->flow.total_tph, intake->total_tph);
    out->wanted_share = ratio(wanted, out->flow.total_tph);
    out->wanted_recovered = ratio(wanted, wanted_of(f, of->of, intake->material_tph) + made_of(f, of->of));
    out->has_least_purity = of->least_purity.given;
    out->least_purity = of->least_purity.value;
    out->use = of->of->use == EFI_USE_UNSAID ? NULL : efi_use_word((efi_use)of->of->use);
    out->has_price = of->of->price && of->of->price[f->line->crop].given;
    out->price = of->price;
    out->value_per_h = of->price * out->flow.total_tph;
    return fill_holds(f, s, out);
}

static ef_status fill_stations(const filler *f, ef_balance_station **filled)
{
    ef_balance_station *stations = efi_arena_get(f->arena, (size_t)f->line->station_count, sizeof *stations);
    if (!stations)
        return EF_MEMORY;
    for (int s = 0; s < f->line->station_count; s++)
        fill_station(f, s, &stations[s]);
    f->crop->stations = *filled = stations;
    f->crop->station_count = f->line->station_count;
    return EF_OK;
}

static ef_status fill_splits(const filler *f)
{
    const efi_line *line = f->line;
    ef_balance_split *splits = efi_arena_get(f->arena, (size_t)line->station_count, sizeof *splits);
    ef_balance_branch *branches = efi_arena_get(f->arena, (size_t)line->spout_count, sizeof *branches);
    if (!splits || !branches)
        return EF_MEMORY;
    for (int s = 0; s < line->station_count; s++) {
        const efi_line_station *of = &line->stations[s];
        if (of->of->kind != EFI_STATION_SPLIT)
            continue;
        splits[f->crop->split_count++] = (ef_balance_split){
            .name = of->of->name,
            .rule = efi_split_word((efi_split_rule)of->of->split_rule),
            .place = place_of(f, of->of->origin.key),
            .chosen = of->split >= 0,
            .branches = branches + line->first_out[s],
            .branch_count = line->first_out[s + 1] - line->first_out[s]};
        for (int k = line->first_out[s]; k < line->first_out[s + 1]; k++) {
            const double share = efi_line_branch(line, k);
            const bool chosen = of->split >= 0;
            branches[k] = (ef_balance_branch){.name = line->spouts[k].discharge->name,
                                              .to = line->stations[line->spouts[k].to].of->name,
                                              .share = share,
                                              .least_share = chosen ? efi_line_branch_least(line, k) : share,
                                              .most_share = chosen ? efi_line_branch_most(line, k) : share,
                                              .by_pass = line->spouts[k].discharge->by_pass};
        }
    }
    f->crop->splits = splits;
    return EF_OK;
}

/* Power, air, people and money of the line as a whole. */
static void fill_means(const filler *f)
{
    ef_balance_crop *crop = f->crop;
    const efi_plant *plant = f->line->scenario->plant;
    for (int s = 0; s < crop->station_count; s++) {
        crop->power_kw += crop->stations[s].power_kw;
        crop->air_m3ph += crop->stations[s].air_m3ph;
        crop->people += crop->stations[s].people;
    }
    crop->has_power_limit = f->line->has_power_limit;
    crop->power_limit_kw = f->line->power_limit_kw;
    crop->power_limits = crop->has_power_limit &&
                         crop->power_kw - f->line->idle_kw >=
                             (crop->power_limit_kw - f->line->idle_kw) * (1.0 - EFI_STEADY_LIMIT_SHARE);
    crop->kwh_per_t = ratio(crop->power_kw, crop->product.total_tph);
    crop->has_people_limit = plant->people.given;
    crop->people_limit = plant->people.value;
    for (int o = 0; o < crop->outlet_count; o++)
        crop->value_per_h += crop->outlets[o].value_per_h;
    crop->value_per_h -= f->line->of->price.given ? f->line->of->price.value * crop->intake.total_tph : 0.0;
    crop->value_per_h -= plant->energy_price.given ? plant->energy_price.value * crop->power_kw : 0.0;
}

static ef_status fill_spouts(const filler *f)
{
    const efi_line *line = f->line;
    const size_t materials = (size_t)line->materials;
    ef_balance_spout *spouts = efi_arena_get(f->arena, (size_t)line->spout_count, sizeof *spouts);
    double *flows = efi_arena_get(f->arena, (size_t)line->spout_count * materials, sizeof *flows);
    if (!spouts || !flows)
        return EF_MEMORY;
    for (int k = 0; k < line->spout_count; k++) {
        const efi_line_spout *spout = &line->spouts[k];
        double *flow = flows + (size_t)k * materials;
        const double *leaving = efi_line_leaving(line, spout->from, feed_of(f, spout->from), flow);
        for (size_t m = 0; m < materials; m++)
            flow[m] = spout->share[m] * leaving[m];
        spouts[k] = (ef_balance_spout){.from = line->stations[spout->from].of->name,
                                       .discharge = spout->discharge->name,
                                       .to = line->stations[spout->to].of->name,
                                       .closes_loop = spout->closes_loop,
                                       .flow = stream_of(f, flow)};
    }
    f->crop->spouts = spouts;
    f->crop->spout_count = line->spout_count;
    return EF_OK;
}

static ef_status fill_totals(const filler *f)
{
    const efi_line *line = f->line;
    ef_balance_crop *crop = f->crop;
    double *intake = efi_arena_get(f->arena, (size_t)line->materials, sizeof *intake);
    double *product = efi_arena_get(f->arena, (size_t)line->materials, sizeof *product);
    ef_balance_outlet *outlets = efi_arena_get(f->arena, (size_t)line->station_count, sizeof *outlets);
    if (!intake || !product || !outlets)
        return EF_MEMORY;
    for (int i = 0; i < line->intake_count; i++)
        for (int m = 0; m < line->materials; m++)
            intake[m] += f->rate_tph[i] * line->receipt[m];
    crop->intake = stream_of(f, intake);
    for (int pass = 0; pass < 2; pass++)
        for (int s = 0; s < line->station_count; s++)
            if (line->stations[s].of->kind == EFI_STATION_OUTLET &&
                line->stations[s].of->product == (pass == 0))
                EF_TRY(fill_outlet(f, s, &outlets[crop->outlet_count++]));
    crop->outlets = outlets;
    double wanted = 0.0;
    for (int o = 0; o < crop->outlet_count; o++)
        wanted += outlets[o].product ? outlets[o].wanted_share * outlets[o].flow.total_tph : 0.0;
    for (int o = 0; o < crop->outlet_count; o++)
        for (int m = 0; outlets[o].product && m < line->materials; m++)
            product[m] += outlets[o].flow.material_tph[m];
    crop->product = stream_of(f, product);
    crop->yield = ratio(crop->product.total_tph, crop->intake.total_tph);
    crop->purity = ratio(wanted, crop->product.total_tph);
    crop->wanted_made_tph = made_of(f, NULL);
    crop->wanted_recovered = ratio(wanted, wanted_of(f, NULL, intake) + crop->wanted_made_tph);
    crop->shift_h = line->scenario->plant->shift_h.value;
    crop->intake_per_shift_t = crop->intake.total_tph * crop->shift_h;
    crop->product_per_shift_t = crop->product.total_tph * crop->shift_h;
    return EF_OK;
}

static void fill_bin(const filler *f, const efi_station *bin, int steady, ef_balance_bin *out)
{
    const ef_balance_station *feeds = &f->crop->stations[steady];
    const efi_value live = efi_station_live_m3(bin, f->line->crop);
    *out = (ef_balance_bin){.name = bin->name,
                            .feeds = feeds->name,
                            .place = place_of(f, bin->origin.key),
                            .feed_tph = feeds->feed.total_tph,
                            .feed_m3ph = feeds->feed_m3ph,
                            .rule_h = f->surge_rule_h,
                            .rule_t = feeds->feed.total_tph * f->surge_rule_h,
                            .has_density = f->line->has_density,
                            .has_live = live.given,
                            .live_m3 = live.value};
    if (!out->has_density || !(out->feed_m3ph > 0.0))
        return;
    out->rule_m3 = out->feed_m3ph * f->surge_rule_h;
    out->rule_bushel = out->rule_m3 / EFI_BUSHEL_M3;
    if (out->has_live) {
        out->live_t = out->live_m3 * out->feed_tph / out->feed_m3ph;
        out->live_minutes = out->live_m3 / out->feed_m3ph * 60.0;
    }
}

/* What it takes to look up along the ways of the crop. */
typedef struct climb {
    efi_ways ways;
    bool *passed; /* shape [scenario station]: the crop comes here */
    bool *seen;   /* shape [scenario station]: scratch, as are the two below */
    int *stack;
    int *above;
} climb;

static ef_status prepare_climb(const filler *f, climb *c)
{
    const size_t stations = (size_t)f->line->scenario->station_count;
    EF_TRY(efi_ways_build(&c->ways, f->arena, f->line->scenario, f->line->crop));
    c->passed = efi_arena_get(f->arena, stations, sizeof *c->passed);
    c->seen = efi_arena_get(f->arena, stations, sizeof *c->seen);
    c->stack = efi_arena_get(f->arena, stations, sizeof *c->stack);
    c->above = efi_arena_get(f->arena, stations, sizeof *c->above);
    if (!c->passed || !c->seen || !c->stack || !c->above)
        return EF_MEMORY;
    for (int s = 0; s < f->line->station_count; s++)
        c->passed[f->line->stations[s].station] = true;
    return EF_OK;
}

/* The bins above a steady-feed station of the line that the crop passes, in c->above; none above others.
 * Returns how many. */
static int find_above(const filler *f, const climb *c, int s)
{
    const ef_scenario *scenario = f->line->scenario;
    if (!f->line->stations[s].of->steady_band.given)
        return 0;
    const int all = efi_ways_bins_above(&c->ways, scenario, f->line->stations[s].station, c->above,
                                        scenario->station_count, c->seen, c->stack);
    int count = 0;
    for (int i = 0; i < all; i++)
        if (c->passed[c->above[i]])
            c->above[count++] = c->above[i];
    return count;
}

/* The bins above each steady-feed station. */
static ef_status fill_bins(const filler *f)
{
    climb c;
    EF_TRY(prepare_climb(f, &c));
    size_t room = 0;
    for (int s = 0; s < f->line->station_count; s++)
        room += (size_t)find_above(f, &c, s);
    ef_balance_bin *bins = efi_arena_get(f->arena, room, sizeof *bins);
    if (!bins)
        return EF_MEMORY;
    f->crop->bins = bins;
    for (int s = 0; s < f->line->station_count; s++) {
        const int count = find_above(f, &c, s);
        for (int i = 0; i < count; i++)
            fill_bin(f, &f->line->scenario->stations[c.above[i]], s, &bins[f->crop->bin_count++]);
    }
    return EF_OK;
}

ef_status efi_balance_fill(ef_balance_crop *crop, efi_arena *arena, const efi_steady_model *model,
                           double surge_rule_h, ef_balance_station **stations)
{
    const size_t cells = (size_t)model->line->station_count * (size_t)model->line->materials;
    double *feed_tph = efi_arena_get(arena, cells, sizeof *feed_tph);
    if (!feed_tph)
        return EF_MEMORY;
    memcpy(feed_tph, model->feeds, cells * sizeof *feed_tph); /* the ladder goes on to use the model */
    const filler f = {crop, arena, model->line, model->rates, feed_tph, surge_rule_h};
    EF_TRY(fill_stations(&f, stations));
    EF_TRY(fill_spouts(&f));
    EF_TRY(fill_splits(&f));
    EF_TRY(fill_totals(&f));
    fill_means(&f);
    return fill_bins(&f);
}
