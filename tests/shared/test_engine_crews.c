/* SPDX-License-Identifier: GPL-3.0-or-later
 * Stops that need a crew: small cases worked out by hand, and laws on random plants against a second book of
 * who waits for whom. */
#include "../lib/near.h"
#include "../lib/networks.h"
#include "../lib/small_plants.h"
#include "shared/stops/trace.h"

#define LINES 4

/* ---- by hand ----------------------------------------------------------------------------------- */

/* Lines side by side, each an intake of 10 t/h and an outlet; the intakes stop. */
typedef struct lines {
    efi_network_station station[2 * LINES];
    efi_network_spout spout[LINES];
    efi_stop_mode mode[LINES];
    efi_interval stop[LINES];
    efi_network_crew crew;
    efi_network network;
} lines;

/* Each line stops once, from at_h for length_h, and calls the one crew. */
static void describe_lines(lines *l, const efi_network_crew *crew, const double *at_h, const double *length_h)
{
    *l = (lines){.crew = *crew};
    for (int i = 0; i < LINES; i++) {
        l->stop[i] = (efi_interval){at_h[i], at_h[i] + length_h[i]};
        l->mode[i] = (efi_stop_mode){
            .schedule = EFI_STOPS_LIST, .intervals = 1, .list = &l->stop[i], .has_crew = true};
        l->station[2 * i] = with_mode(intake(10.0), &l->mode[i]);
        l->station[2 * i].key = (uint64_t)i;
        l->station[2 * i + 1] = outlet(100 + (uint64_t)i, INFINITY);
        l->spout[i] = (efi_network_spout){2 * i, 2 * i + 1, 1.0, false};
    }
    l->network = (efi_network){.stations = 2 * LINES,
                               .station = l->station,
                               .spouts = LINES,
                               .spout = l->spout,
                               .crews = 1,
                               .crew = &l->crew};
}

static void run_lines(const lines *l, double until_h, efi_account account[LINES], efi_crew_account *crew)
{
    efi_engine *engine = build(&l->network);
    run(engine, until_h);
    for (int i = 0; i < LINES; i++)
        account[i] = read_account(engine, 2 * i);
    efi_engine_read_crew(engine, 0, crew);
    efi_engine_free(engine);
}

static void check_stop(const efi_account *account, double waited_h, double length_h)
{
    assert_near_absolute(account->state_h[EFI_STATE_NO_CREW], waited_h, 1e-12);
    assert_near_absolute(account->state_h[EFI_STATE_RANDOM_STOP], length_h, 1e-12);
}

static void a_stop_waits_while_the_only_team_is_elsewhere(void **state)
{
    (void)state;
    /* Stops at 2, 2.5, 2.75 and 8 h, of 1, 0.5, 2 and 0.25 h. The team is at the first until 3, at the second
     * until 3.5, at the third until 5.5; the last finds it free. */
    static const double at_h[LINES] = {2.0, 2.5, 2.75, 8.0};
    static const double length_h[LINES] = {1.0, 0.5, 2.0, 0.25};
    const efi_network_crew one = {.teams = 1};
    const efi_network_crew two = {.teams = 2};
    lines l;
    efi_account account[LINES];
    efi_crew_account crew;
    describe_lines(&l, &one, at_h, length_h);
    run_lines(&l, 10.0, account, &crew);
    check_stop(&account[0], 0.0, 1.0);
    check_stop(&account[1], 0.5, 0.5);
    check_stop(&account[2], 0.75, 2.0);
    check_stop(&account[3], 0.0, 0.25);
    assert_near_absolute(account[1].in_t, 10.0 * (10.0 - 1.0), 1e-9);
    assert_int_equal(crew.stops, 4);
    assert_int_equal(crew.waited, 2);
    assert_int_equal(crew.most_busy, 1);
    assert_near_absolute(crew.busy_h, 3.75, 1e-12);
    assert_near_absolute(crew.wait_h, 1.25, 1e-12);

    /* Two teams: the third stop waits until 3, when both have done (the first at 3, the second at 3). */
    describe_lines(&l, &two, at_h, length_h);
    run_lines(&l, 10.0, account, &crew);
    check_stop(&account[1], 0.0, 0.5);
    check_stop(&account[2], 0.25, 2.0);
    assert_int_equal(crew.most_busy, 2);
    assert_int_equal(crew.waited, 1);
}

static void stops_of_one_instant_are_seen_to_by_station(void **state)
{
    (void)state;
    /* The first line keeps the team from 1 to 3; the others stop together at 2, 1 h each: seen to at 3, 4, 5.
     */
    static const double at_h[LINES] = {1.0, 2.0, 2.0, 2.0};
    static const double length_h[LINES] = {2.0, 1.0, 1.0, 1.0};
    const efi_network_crew one = {.teams = 1};
    lines l;
    efi_account account[LINES];
    efi_crew_account crew;
    describe_lines(&l, &one, at_h, length_h);
    run_lines(&l, 10.0, account, &crew);
    check_stop(&account[1], 1.0, 1.0);
    check_stop(&account[2], 2.0, 1.0);
    check_stop(&account[3], 3.0, 1.0);
}

static void a_crew_off_duty_lets_stops_wait_and_ends_or_breaks_off_its_own(void **state)
{
    (void)state;
    /* On duty 0 to 6, 6 to 7 (which touch) and 9 to 20. Stops: 5 to 7, which ends as duty does; 6.5 for 2 h;
     * 7.5 for 1 h; 10 for 1 h. */
    static const efi_interval duty[] = {{0.0, 6.0}, {6.0, 7.0}, {9.0, 20.0}};
    static const double at_h[LINES] = {5.0, 6.5, 7.5, 10.0};
    static const double length_h[LINES] = {2.0, 2.0, 1.0, 1.0};
    efi_network_crew two = {.teams = 2, .has_duty = true, .intervals = COUNT(duty), .duty = duty};
    lines l;
    efi_account account[LINES];
    efi_crew_account crew;
    /* Its teams stay until a stop is over: the second is done at 8.5, the third seen to from 9 to 10. */
    describe_lines(&l, &two, at_h, length_h);
    run_lines(&l, 20.0, account, &crew);
    check_stop(&account[0], 0.0, 2.0);
    check_stop(&account[1], 0.0, 2.0);
    check_stop(&account[2], 1.5, 1.0);
    check_stop(&account[3], 0.0, 1.0);
    assert_near_absolute(crew.busy_h, 6.0, 1e-12);

    /* They go at 7: the second rests until 9 and is over at 10.5. */
    two.breaks_off = true;
    describe_lines(&l, &two, at_h, length_h);
    run_lines(&l, 20.0, account, &crew);
    check_stop(&account[0], 0.0, 2.0);
    check_stop(&account[1], 2.0, 2.0);
    check_stop(&account[2], 1.5, 1.0);
    check_stop(&account[3], 0.0, 1.0);

    /* One team: the stop broken off comes before the one that waited meanwhile. */
    static const double later_h[LINES] = {1.0, 6.5, 7.5, 15.0};
    two.teams = 1;
    describe_lines(&l, &two, later_h, length_h);
    run_lines(&l, 20.0, account, &crew);
    check_stop(&account[1], 2.0, 2.0);
    check_stop(&account[2], 3.0, 1.0);
    assert_int_equal(crew.stops, 4);
    assert_int_equal(crew.waited, 1); /* the one broken off had been begun at once */
}

static void a_crew_that_never_comes_leaves_the_stop_for_good(void **state)
{
    (void)state;
    static const double at_h[LINES] = {2.0, 50.0, 51.0, 52.0};
    static const double length_h[LINES] = {1.0, 1.0, 1.0, 1.0};
    const efi_network_crew never = {.teams = 1, .has_duty = true};
    lines l;
    efi_account account[LINES];
    efi_crew_account crew;
    describe_lines(&l, &never, at_h, length_h);
    run_lines(&l, 2000.0, account, &crew);
    check_stop(&account[0], 1998.0, 0.0);
    assert_int_equal(crew.stops, 0);
    assert_near_absolute(crew.wait_h, 1998.0 + 1950.0 + 1949.0 + 1948.0, 1e-9);
}

static void what_counts_the_clock_goes_on_from_the_true_end(void **state)
{
    (void)state;
    /* Every 4 h from start to start, 1 h long, and the crew comes at 9 for the first time: the stop of 4 ends
     * at 10, that of 8 is left out, the next are at 12 and 16. */
    static const efi_interval duty = {9.0, 100.0};
    const efi_network_crew late = {.teams = 1, .has_duty = true, .intervals = 1, .duty = &duty};
    efi_stop_mode mode = {.schedule = EFI_STOPS_EVERY,
                          .cause = EFI_CAUSE_PLANNED,
                          .every = 4.0,
                          .duration = {EFI_FIXED, 1.0, 0.0},
                          .has_crew = true};
    efi_network_station station[] = {with_mode(intake(10.0), &mode), outlet(1, INFINITY)};
    const efi_network_spout spout[] = {{0, 1, 1.0, false}};
    efi_network network = NETWORK(station, spout);
    network.crews = 1;
    network.crew = &late;
    efi_engine *engine = build(&network);
    run(engine, 17.25);
    efi_account account = read_account(engine, 0);
    assert_near_absolute(account.state_h[EFI_STATE_NO_CREW], 5.0, 1e-12);
    assert_near_absolute(account.state_h[EFI_STATE_PLANNED_STOP], 3.0, 1e-12);
    assert_int_equal(account.stops, 3);
    efi_engine_free(engine);

    /* Drawn by the clock: 4 h after the end at 10, at 14. */
    mode.schedule = EFI_STOPS_DRAWN;
    mode.gap = (efi_distribution){EFI_FIXED, 4.0, 0.0};
    engine = build(&network);
    run(engine, 18.0);
    account = read_account(engine, 0);
    assert_near_absolute(account.state_h[EFI_STATE_NO_CREW], 5.0, 1e-12);
    assert_near_absolute(account.state_h[EFI_STATE_PLANNED_STOP], 2.0, 1e-12);
    efi_engine_free(engine);
}

static void a_stop_in_hand_comes_before_waiting_in_the_account(void **state)
{
    (void)state;
    /* One machine, two modes that call the team: 2 to 4, and from 3 on for 1 h, seen to from 4 to 5. Waiting
     * shows only when nothing is in hand: never here. A break from 4.5 to 4.75 shows above all. */
    const efi_interval at[] = {{2.0, 4.0}, {3.0, 4.0}, {4.5, 4.75}};
    efi_stop_mode mode[3];
    for (int k = 0; k < 3; k++)
        mode[k] = (efi_stop_mode){
            .schedule = EFI_STOPS_LIST, .intervals = 1, .list = &at[k], .has_crew = k < 2};
    mode[2].cause = EFI_CAUSE_BREAK;
    const efi_network_crew one = {.teams = 1};
    efi_network_station station[] = {with_mode(intake(10.0), mode), outlet(1, INFINITY)};
    station[0].modes = 3;
    const efi_network_spout spout[] = {{0, 1, 1.0, false}};
    efi_network network = NETWORK(station, spout);
    network.crews = 1;
    network.crew = &one;
    efi_engine *engine = build(&network);
    run(engine, 10.0);
    const efi_account account = read_account(engine, 0);
    assert_near_absolute(account.state_h[EFI_STATE_RANDOM_STOP], 2.75, 1e-12);
    assert_near_absolute(account.state_h[EFI_STATE_BREAK], 0.25, 1e-12);
    assert_near_absolute(account.state_h[EFI_STATE_NO_CREW], 0.0, 0.0);
    assert_near_absolute(account.state_h[EFI_STATE_FULL_RATE], 7.0, 1e-12);
    efi_engine_free(engine);
}

static void a_crew_that_cannot_be_is_refused(void **state)
{
    (void)state;
    static const double at_h[LINES] = {1.0, 2.0, 3.0, 4.0};
    const efi_network_crew one = {.teams = 1};
    static const efi_interval backward[] = {{5.0, 6.0}, {4.0, 7.0}};
    lines l;
    efi_trouble trouble;
    describe_lines(&l, &one, at_h, at_h);
    assert_int_equal(efi_network_check(&l.network, &trouble), EF_OK);
    l.mode[2].crew = 1;
    assert_int_equal(efi_network_check(&l.network, &trouble), EF_SCENARIO);
    assert_int_equal(trouble.kind, EFI_TROUBLE_CREW);
    assert_int_equal(trouble.station[0], 4);
    l.mode[2].crew = -1;
    assert_int_equal(efi_network_check(&l.network, &trouble), EF_SCENARIO);
    l.mode[2].crew = 0;
    l.crew.teams = 0;
    assert_int_equal(efi_network_check(&l.network, &trouble), EF_SCENARIO);
    assert_int_equal(trouble.kind, EFI_TROUBLE_CREW);
    assert_int_equal(trouble.stations, 0);
    l.crew = (efi_network_crew){.teams = 1, .has_duty = true, .intervals = 2, .duty = backward};
    assert_int_equal(efi_network_check(&l.network, &trouble), EF_SCENARIO);
    assert_int_equal(trouble.kind, EFI_TROUBLE_CREW);
}

/* ---- laws -------------------------------------------------------------------------------------- */

#define STOPS_MOST 4096

/* One stop as the events tell it. */
typedef struct told_stop {
    int station;
    int unit;
    int mode;
    double begun_h;
    double came_h; /* of the last coming; NaN: not yet */
    double done_h; /* hours worked on it before the last coming */
} told_stop;

/* A second book of the stops in force, kept from the events and the rules alone. */
typedef struct book {
    const efi_network *network;
    uint64_t seed;
    told_stop stop[STOPS_MOST]; /* in force, in the order in which they began */
    int stops;
    int64_t taken[NETWORKS_STATIONS][4][4]; /* by station, unit, mode: stops over */
    double free_since_h[NETWORKS_STATIONS][4][4];
    const char *wrong;
    double at_h;
    int64_t waited;
    int64_t checked;
    double instant_h;
} book;

static const efi_stop_mode *mode_of(const book *b, const told_stop *stop)
{
    return &b->network->station[stop->station].mode[stop->mode];
}

static void accuse(book *b, const char *what, double at_h)
{
    if (!b->wrong) {
        b->wrong = what;
        b->at_h = at_h;
    }
}

static bool is_on_duty(const efi_network_crew *crew, double at_h)
{
    if (crew->is_unlimited || !crew->has_duty)
        return true;
    for (int k = 0; k < crew->intervals; k++)
        if (at_h >= crew->duty[k].from_h && at_h < crew->duty[k].to_h)
            return true;
    return false;
}

/* At the end of an instant: no crew serves more than its size, and none waits that could be served. */
static void check_crews(book *b, double at_h)
{
    for (int c = 0; c < b->network->crews; c++) {
        const efi_network_crew *crew = &b->network->crew[c];
        int busy = 0;
        bool has_waiting = false;
        for (int k = 0; k < b->stops; k++) {
            const told_stop *stop = &b->stop[k];
            if (!mode_of(b, stop)->has_crew || mode_of(b, stop)->crew != c)
                continue;
            const bool is_served = !isnan(stop->came_h);
            busy += is_served;
            if (is_served && has_waiting)
                accuse(b, "a later stop is seen to before an earlier one", at_h);
            has_waiting = has_waiting || !is_served;
        }
        if (!crew->is_unlimited && busy > crew->teams)
            accuse(b, "a crew serves more stops than it has teams", at_h);
        if (has_waiting && (crew->is_unlimited || busy < crew->teams) && is_on_duty(crew, at_h))
            accuse(b, "a stop waits though a team is free", at_h);
        if (busy > 0 && crew->breaks_off && !is_on_duty(crew, at_h))
            accuse(b, "a crew works off duty", at_h);
        b->waited += has_waiting;
    }
}

/* A stop is over: it has lasted as long as its stream says, waiting left out. */
static void check_length(book *b, const told_stop *stop, double at_h)
{
    const efi_network_station *station = &b->network->station[stop->station];
    int64_t *taken = &b->taken[stop->station][stop->unit][stop->mode];
    double gap[64];
    double length_h[64];
    if (*taken < 64) {
        efi_trace_sequence(mode_of(b, stop), b->seed, 0,
                           efi_stop_stream(station->key, stop->unit, stop->mode), (int)*taken + 1, gap,
                           length_h);
        if (mode_of(b, stop)->schedule != EFI_STOPS_LIST) {
            const double lasted_h = stop->done_h + (at_h - stop->came_h);
            if (!(fabs(lasted_h - length_h[*taken]) <= 1e-9))
                accuse(b, "a stop does not last as long as its stream says", at_h);
            b->checked++;
        }
        if (mode_of(b, stop)->schedule == EFI_STOPS_DRAWN && mode_of(b, stop)->counting == EFI_COUNT_CLOCK &&
            !(fabs(stop->begun_h - b->free_since_h[stop->station][stop->unit][stop->mode] - gap[*taken]) <=
              1e-9))
            accuse(b, "a stop does not begin when its stream says", at_h);
    }
    (*taken)++;
    b->free_since_h[stop->station][stop->unit][stop->mode] = at_h;
}

static int find_stop(const book *b, const efi_event *event)
{
    for (int k = 0; k < b->stops; k++)
        if (b->stop[k].station == event->station && b->stop[k].unit == event->unit &&
            b->stop[k].mode == event->mode)
            return k;
    return -1;
}

/* A stop that begins without a later "crew comes" of the same instant has its crew at once, where one is
 * free: what the event does not say the account of the station does, so the book asks the rules. */
static void begin_told(book *b, const efi_event *event)
{
    told_stop stop = {event->station, event->unit, event->mode, event->at_h, NAN, 0.0};
    const efi_stop_mode *mode = mode_of(b, &stop);
    bool is_served = true;
    if (mode->has_crew) {
        const efi_network_crew *crew = &b->network->crew[mode->crew];
        int others = 0;
        for (int k = 0; k < b->stops; k++)
            others += mode_of(b, &b->stop[k])->has_crew && mode_of(b, &b->stop[k])->crew == mode->crew;
        is_served = is_on_duty(crew, event->at_h) && (crew->is_unlimited || others < crew->teams);
    }
    if (is_served)
        stop.came_h = event->at_h;
    b->stop[b->stops++] = stop;
}

static void keep_book(void *context, const efi_engine *engine, const efi_event *event)
{
    (void)engine;
    book *b = context;
    if (event->at_h > b->instant_h)
        check_crews(b, b->instant_h);
    b->instant_h = event->at_h;
    const int k = find_stop(b, event);
    if (event->kind == EFI_EVENT_STOP) {
        if (k >= 0)
            accuse(b, "a stop begins twice", event->at_h);
        begin_told(b, event);
        return;
    }
    if (event->kind != EFI_EVENT_START && event->kind != EFI_EVENT_CREW_COMES &&
        event->kind != EFI_EVENT_CREW_GOES)
        return;
    if (k < 0) {
        accuse(b, "a stop that is not there", event->at_h);
        return;
    }
    told_stop *stop = &b->stop[k];
    if (event->kind == EFI_EVENT_CREW_COMES) {
        if (!isnan(stop->came_h))
            accuse(b, "a crew comes where it is", event->at_h);
        stop->came_h = event->at_h;
        return;
    }
    if (isnan(stop->came_h))
        accuse(b, "a stop ends, or its crew goes, without a crew", event->at_h);
    if (event->kind == EFI_EVENT_CREW_GOES) {
        stop->done_h += event->at_h - stop->came_h;
        stop->came_h = NAN;
        return;
    }
    check_length(b, stop, event->at_h);
    for (int j = k; j + 1 < b->stops; j++)
        b->stop[j] = b->stop[j + 1];
    b->stops--;
}

static void crews_serve_in_order_and_never_more_than_they_are(void **state)
{
    (void)state;
    static networks_plant plant;
    static book b;
    const int plants = 500;
    int64_t waited = 0;
    int64_t checked = 0;
    for (int k = 0; k < plants; k++) {
        const uint64_t seed = 300000 + (uint64_t)k;
        const networks_wish wish = {.steps = 4 + k % 20,
                                    .has_stops = true,
                                    .has_branches = true,
                                    .has_latches = k % 3 == 0,
                                    .has_batches = k % 5 == 0,
                                    .has_crews = true};
        networks_make(&plant, seed, &wish);
        efi_engine *engine = NULL;
        efi_trouble trouble;
        assert_int_equal(efi_engine_build(&plant.network, NULL, &engine, &trouble), EF_OK);
        memset(&b, 0, sizeof b);
        b.network = &plant.network;
        b.seed = seed;
        efi_engine_watch(engine, keep_book, &b);
        efi_engine_start(engine, seed, 0);
        if (efi_engine_run(engine, 100.0, &trouble) != EF_OK)
            fail_msg("seed %llu at %g h: %s", (unsigned long long)seed, trouble.at_h,
                     efi_trouble_text(trouble.kind));
        if (b.wrong)
            fail_msg("seed %llu at %.9g h: %s", (unsigned long long)seed, b.at_h, b.wrong);
        double capacity_h = 0.0;
        for (int c = 0; c < plant.network.crews; c++) {
            efi_crew_account account;
            efi_engine_read_crew(engine, c, &account);
            capacity_h = 100.0 * plant.crew[c].teams;
            if (!plant.crew[c].is_unlimited &&
                !(account.busy_h <= capacity_h + 1e-9 && account.most_busy <= plant.crew[c].teams))
                fail_msg("seed %llu: crew %d is busy beyond its size", (unsigned long long)seed, c);
        }
        efi_engine_free(engine);
        waited += b.waited;
        checked += b.checked;
    }
    print_message("seeds 300000 to %d, %lld instants with a stop waiting, %lld lengths\n", 299999 + plants,
                  (long long)waited, (long long)checked);
    assert_true(waited > 1000 && checked > 1000);
}

static void check_same(const efi_network *with, const efi_network *without, uint64_t seed)
{
    efi_engine *engine[2] = {NULL, NULL};
    efi_trouble trouble[2];
    assert_int_equal(efi_engine_build(with, NULL, &engine[0], &trouble[0]), EF_OK);
    assert_int_equal(efi_engine_build(without, NULL, &engine[1], &trouble[1]), EF_OK);
    assert_int_equal(efi_engine_is_series(engine[0]), efi_engine_is_series(engine[1]));
    ef_status status[2];
    for (int k = 0; k < 2; k++) {
        efi_engine_start(engine[k], seed, 0);
        status[k] = efi_engine_run(engine[k], 1500.0, &trouble[k]);
    }
    assert_int_equal(status[0], status[1]);
    for (int i = 0; i < with->stations; i++) {
        efi_account account[2];
        memset(account, 0, sizeof account);
        for (int k = 0; k < 2; k++)
            efi_engine_read(engine[k], i, &account[k]);
        /* both cleared before: byte for byte, padding too */
        if (memcmp((const unsigned char *)&account[0], (const unsigned char *)&account[1],
                   sizeof account[0]) != 0)
            fail_msg("seed %llu: station %d differs", (unsigned long long)seed, i);
    }
    efi_engine_free(engine[0]);
    efi_engine_free(engine[1]);
}

static void an_unlimited_crew_is_as_good_as_none(void **state)
{
    (void)state;
    static networks_plant with;
    static networks_plant without;
    for (int k = 0; k < 100; k++) {
        const uint64_t seed = 310000 + (uint64_t)k;
        const networks_wish wish = {
            .steps = 4 + k % 20, .has_stops = true, .has_branches = k % 2 == 0, .has_latches = k % 3 == 0};
        networks_make(&with, seed, &wish);
        networks_make(&without, seed, &wish);
        const efi_network_crew all = {.is_unlimited = true};
        const efi_network_crew many = {.teams = 1000};
        with.network.crews = 1;
        with.network.crew = k % 2 == 0 ? &all : &many;
        for (int m = 0; m < with.modes; m++)
            with.mode[m].has_crew = m % 3 != 0;
        check_same(&with.network, &without.network, seed);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_stop_waits_while_the_only_team_is_elsewhere),
        cmocka_unit_test(stops_of_one_instant_are_seen_to_by_station),
        cmocka_unit_test(a_crew_off_duty_lets_stops_wait_and_ends_or_breaks_off_its_own),
        cmocka_unit_test(a_crew_that_never_comes_leaves_the_stop_for_good),
        cmocka_unit_test(what_counts_the_clock_goes_on_from_the_true_end),
        cmocka_unit_test(a_stop_in_hand_comes_before_waiting_in_the_account),
        cmocka_unit_test(a_crew_that_cannot_be_is_refused),
        cmocka_unit_test(crews_serve_in_order_and_never_more_than_they_are),
        cmocka_unit_test(an_unlimited_crew_is_as_good_as_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
