/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/bin_shape.h"

#include "base/base.h"

#include <math.h>

#define RAD_PER_DEG (EF_PI / 180.0)

/* Volumes stand to some ten times this share of the bin filled level. */
#define VOLUME_TOL 1e-10

enum {
    MOST_CUTS = 32, /* along a ray */
    MOST_DIRECTIONS = 32,
    MOST_HALVINGS = 24,
    BISECTIONS = 64
};

/* ---- closed forms ---------------------------------------------------------------------------------------
 */

double efi_bin_valley(const efi_bin_shape *shape)
{
    if (shape->is_flat)
        return 0.0;
    if (shape->is_round || isinf(shape->slope_x))
        return shape->slope_y;
    return 1.0 / hypot(1.0 / shape->slope_x, 1.0 / shape->slope_y);
}

static double plan_area(const efi_bin_shape *shape)
{
    return shape->is_round ? EF_PI / 4.0 * shape->width_m * shape->width_m : shape->length_m * shape->width_m;
}

static double outlet_area(const efi_bin_shape *shape)
{
    return shape->is_round ? EF_PI * shape->outlet_y_m * shape->outlet_y_m
                           : 4.0 * shape->outlet_x_m * shape->outlet_y_m;
}

double efi_bin_area(const efi_bin_shape *shape)
{
    const double round = shape->is_round ? EF_PI * shape->width_m : 2.0 * (shape->length_m + shape->width_m);
    const double walls = round * shape->wall_m;
    if (shape->is_flat)
        return walls + plan_area(shape) - outlet_area(shape);
    const double rise_y = shape->hopper_m;
    const double run_y = shape->width_m / 2.0 - shape->outlet_y_m;
    if (shape->is_round)
        return walls + EF_PI * (shape->width_m / 2.0 + shape->outlet_y_m) * hypot(rise_y, run_y);
    const double run_x = shape->length_m / 2.0 - shape->outlet_x_m;
    /* two trapezia that face the width, two that face the length; a wedge's ends are upright trapezia */
    const double facing_y = (shape->length_m + 2.0 * shape->outlet_x_m) * hypot(rise_y, run_y);
    const double facing_x = (shape->width_m + 2.0 * shape->outlet_y_m) * hypot(shape->hopper_m, run_x);
    return walls + facing_y + facing_x;
}

double efi_bin_level(const efi_bin_shape *shape)
{
    const double walls = plan_area(shape) * shape->wall_m;
    if (shape->is_flat)
        return walls;
    const double h = shape->hopper_m;
    if (shape->is_round) {
        const double top = shape->width_m / 2.0;
        const double low = shape->outlet_y_m;
        return walls + EF_PI * h / 3.0 * (top * top + top * low + low * low);
    }
    /* prismatoid: h/6 (top + 4 middle + bottom) */
    const double l0 = 2.0 * shape->outlet_x_m;
    const double w0 = 2.0 * shape->outlet_y_m;
    const double middle = (shape->length_m + l0) * (shape->width_m + w0);
    return walls + h / 6.0 * (plan_area(shape) + middle + l0 * w0);
}

/* ---- along a ray ----------------------------------------------------------------------------------------
 */

/* A surface along a ray: z = at + by rho + times sqrt((rho - near)^2 + off^2). */
typedef struct curve {
    double at;
    double by;
    double times;
    double near;
    double off;
} curve;

/* What is asked of a bin, with tangents in place of angles. */
typedef struct fill {
    const efi_bin_shape *shape;
    double peak_m; /* height of the heap's peak */
    double heap_slope;
    double left_slope; /* of what stays behind; 0: nothing does */
} fill;

/* One direction: unit vector and what lies along it. */
typedef struct ray {
    const fill *fill;
    double cos_x, sin_y; /* of the direction, absolute values */
    curve heap;
    double end; /* where the ray meets the wall */
    double cut[MOST_CUTS];
    int cuts;
} ray;

static double curve_at(const curve *c, double rho)
{
    return c->at + c->by * rho + c->times * hypot(rho - c->near, c->off);
}

static double curve_slope(const curve *c, double rho)
{
    const double away = hypot(rho - c->near, c->off);
    return c->by + (away > 0.0 ? c->times * (rho - c->near) / away : 0.0);
}

/* Antiderivative of rho z(rho). With u = rho - near, S = sqrt(u^2 + off^2):
 * int rho S = S^3 / 3 + near / 2 (u S + off^2 asinh(u / off)). */
static double curve_moment(const curve *c, double rho)
{
    const double plain = c->at * rho * rho / 2.0 + c->by * rho * rho * rho / 3.0;
    if (c->times == 0.0)
        return plain;
    const double u = rho - c->near;
    const double away = hypot(u, c->off);
    const double bend = c->off > 0.0 ? c->off * c->off * asinh(u / c->off) : 0.0;
    return plain + c->times * (away * away * away / 3.0 + c->near / 2.0 * (u * away + bend));
}

/* The side of the hopper, or of what is left over, that rises with `slope` from `edge` of the outlet. */
static curve rising(double slope, double along, double edge)
{
    return (curve){.at = -slope * edge, .by = slope * along};
}

/* What is left over, near rho: a cone around the outlet's corner, or a plane before its side. */
static curve left_over(const ray *r, double rho)
{
    const efi_bin_shape *shape = r->fill->shape;
    const double slope = r->fill->left_slope;
    const double x = shape->outlet_x_m;
    const double y = shape->outlet_y_m;
    if (shape->is_round)
        return rho > y ? rising(slope, 1.0, y) : (curve){0};
    const bool past_x = rho * r->cos_x > x;
    const bool past_y = rho * r->sin_y > y;
    if (past_x && past_y) {
        const double near = x * r->cos_x + y * r->sin_y;
        const double off = fabs(x * r->sin_y - y * r->cos_x);
        return (curve){.times = slope, .near = near, .off = off};
    }
    if (past_x)
        return rising(slope, r->cos_x, x);
    return past_y ? rising(slope, r->sin_y, y) : (curve){0};
}

/* The sides of the hopper that the ray can meet; returns how many. */
static int hopper_sides(const ray *r, curve *side)
{
    const efi_bin_shape *shape = r->fill->shape;
    int count = 0;
    if (shape->is_flat)
        return 0;
    if (shape->is_round) {
        side[count++] = rising(shape->slope_y, 1.0, shape->outlet_y_m);
        return count;
    }
    if (isfinite(shape->slope_x))
        side[count++] = rising(shape->slope_x, r->cos_x, shape->outlet_x_m);
    if (isfinite(shape->slope_y))
        side[count++] = rising(shape->slope_y, r->sin_y, shape->outlet_y_m);
    return count;
}

/* The surface that bounds the heap from below near rho. */
static curve floor_near(const ray *r, double rho)
{
    curve side[2];
    curve top = {0};
    const int sides = hopper_sides(r, side);
    for (int i = 0; i < sides; i++)
        if (curve_at(&side[i], rho) > curve_at(&top, rho))
            top = side[i];
    if (r->fill->left_slope > 0.0) {
        const curve left = left_over(r, rho);
        if (curve_at(&left, rho) > curve_at(&top, rho))
            top = left;
    }
    return top;
}

static void add_cut(ray *r, double rho)
{
    if (rho > 0.0 && rho < r->end && r->cuts < MOST_CUTS)
        r->cut[r->cuts++] = rho;
}

/* Cuts the ray where two surfaces may cross: (a + b rho)^2 = t^2 ((rho - near)^2 + off^2), or two lines. A
 * cut too many does no harm. */
static void cut_crossing(ray *r, const curve *one, const curve *two)
{
    const double a = one->at - two->at;
    const double b = one->by - two->by;
    const double t = two->times - one->times;
    const curve *bent = one->times != 0.0 ? one : two;
    if (t == 0.0) {
        if (b != 0.0)
            add_cut(r, -a / b);
        return;
    }
    const double square = b * b - t * t;
    const double half = a * b + t * t * bent->near;
    const double rest = a * a - t * t * (bent->near * bent->near + bent->off * bent->off);
    if (square == 0.0) {
        if (half != 0.0)
            add_cut(r, -rest / (2.0 * half));
        return;
    }
    const double under = half * half - square * rest;
    if (under < 0.0)
        return;
    add_cut(r, (-half + sqrt(under)) / square);
    add_cut(r, (-half - sqrt(under)) / square);
}

static void cut_floor(ray *r)
{
    const efi_bin_shape *shape = r->fill->shape;
    curve side[3] = {0};
    const int sides = 1 + hopper_sides(r, side + 1);
    const double edge_x = shape->is_round ? shape->outlet_y_m : shape->outlet_x_m / r->cos_x;
    const double edge_y = shape->is_round ? shape->outlet_y_m : shape->outlet_y_m / r->sin_y;
    add_cut(r, edge_x);
    add_cut(r, edge_y);
    for (int i = 0; i < sides; i++)
        for (int k = 0; k < i; k++)
            cut_crossing(r, &side[i], &side[k]);
    if (!(r->fill->left_slope > 0.0))
        return;
    /* the two pieces of what is left over: before the outlet's corner, and around it */
    const double corner = fmax(edge_x, edge_y);
    const curve before = left_over(r, (fmin(edge_x, edge_y) + corner) / 2.0);
    const curve around = left_over(r, 2.0 * corner);
    for (int i = 0; i < sides; i++) {
        cut_crossing(r, &side[i], &before);
        cut_crossing(r, &side[i], &around);
    }
}

static void sort_cuts(ray *r)
{
    for (int i = 1; i < r->cuts; i++) {
        const double moved = r->cut[i];
        int k = i;
        for (; k > 0 && r->cut[k - 1] > moved; k--)
            r->cut[k] = r->cut[k - 1];
        r->cut[k] = moved;
    }
}

static double gap_at(const curve *heap, const curve *low, double rho)
{
    return curve_at(heap, rho) - curve_at(low, rho);
}

/* The highest point of the gap in [from, to], where its slope falls through 0. */
static double highest(const curve *heap, const curve *low, double from, double to)
{
    for (int i = 0; i < BISECTIONS; i++) {
        const double middle = (from + to) / 2.0;
        if (curve_slope(heap, middle) > curve_slope(low, middle))
            from = middle;
        else
            to = middle;
    }
    return (from + to) / 2.0;
}

/* Where the gap changes sign between a point inside and one outside. */
static double crossing(const curve *heap, const curve *low, double inside, double outside)
{
    for (int i = 0; i < BISECTIONS; i++) {
        const double middle = (inside + outside) / 2.0;
        if (gap_at(heap, low, middle) > 0.0)
            inside = middle;
        else
            outside = middle;
    }
    return (inside + outside) / 2.0;
}

/* Integral of rho max(0, heap - low) over [from, to], where the difference is concave. */
static double between(const curve *heap, const curve *low, double from, double to)
{
    const bool from_above = gap_at(heap, low, from) > 0.0;
    const bool to_above = gap_at(heap, low, to) > 0.0;
    double first = from;
    double last = to;
    if (!from_above || !to_above) {
        const double top = from_above ? from : to_above ? to : highest(heap, low, from, to);
        if (!(gap_at(heap, low, top) > 0.0))
            return 0.0;
        first = from_above ? from : crossing(heap, low, top, from);
        last = to_above ? to : crossing(heap, low, top, to);
    }
    return curve_moment(heap, last) - curve_moment(heap, first) -
           (curve_moment(low, last) - curve_moment(low, first));
}

/* Integral of rho max(0, heap - floor) along the ray in a direction: volume for each radian. */
static double along(const fill *f, double direction)
{
    const efi_bin_shape *shape = f->shape;
    const double cos_x = cos(direction);
    const double sin_y = sin(direction);
    const double near = shape->inlet_x_m * cos_x + shape->inlet_y_m * sin_y;
    const double off = fabs(shape->inlet_x_m * sin_y - shape->inlet_y_m * cos_x);
    ray r = {.fill = f, .cos_x = fabs(cos_x), .sin_y = fabs(sin_y)};
    r.heap = (curve){.at = f->peak_m, .times = -f->heap_slope, .near = near, .off = off};
    r.end = shape->is_round ? shape->width_m / 2.0
                            : fmin(shape->length_m / 2.0 / r.cos_x, shape->width_m / 2.0 / r.sin_y);
    add_cut(&r, near);
    cut_floor(&r);
    sort_cuts(&r);
    double sum = 0.0;
    double from = 0.0;
    for (int i = 0; i <= r.cuts; i++) {
        const double to = i < r.cuts ? r.cut[i] : r.end;
        const curve low = floor_near(&r, (from + to) / 2.0);
        if (to > from)
            sum += between(&r.heap, &low, from, to);
        from = to;
    }
    return sum;
}

/* ---- over all directions --------------------------------------------------------------------------------
 */

/* Gauss-Kronrod, 7 and 15 points. Source: Kronrod's nodes and weights as in QUADPACK (Piessens et al., 1983),
 * routine qk15, public domain. */
static const double node[8] = {0.991455371120812639206854697526329, 0.949107912342758524526189684047851,
                               0.864864423359769072789712788640926, 0.741531185599394439863864773280788,
                               0.586087235467691130294144369258763, 0.405845151377397166906606412076961,
                               0.207784955007898467600689403773245, 0.0};
static const double weight_15[8] = {0.022935322010529224963732008058970, 0.063092092629978553290700663189204,
                                    0.104790010322250183839876322541518, 0.140653259715525918745189590510238,
                                    0.169004726639267902826583426598550, 0.190350578064785409913256402421014,
                                    0.204432940075298892414161999234649, 0.209482141084727828012999174891714};
static const double weight_7[4] = {0.129484966168869693270611432679082, 0.279705391489276667901467771423780,
                                   0.381830050505118944950369775488975, 0.417959183673469387755102040816327};

/* Integral over one stretch of directions, halved until the two rules agree to `tol`, m3. */
static double sweep(const fill *f, double from, double to, double tol, int halvings)
{
    const double middle = (from + to) / 2.0;
    const double half = (to - from) / 2.0;
    double fine = 0.0;
    double coarse = 0.0;
    for (int i = 0; i < 8; i++) {
        double value = along(f, middle + half * node[i]);
        if (node[i] > 0.0)
            value += along(f, middle - half * node[i]);
        fine += weight_15[i] * value;
        if (i % 2 == 1)
            coarse += weight_7[i / 2] * value;
    }
    if (half * fabs(fine - coarse) <= tol || halvings == 0)
        return half * fine;
    // NOLINTNEXTLINE(misc-no-recursion): as deep as MOST_HALVINGS
    return sweep(f, from, middle, tol, halvings - 1) + sweep(f, middle, to, tol, halvings - 1);
}

/* A direction as an angle from 0 to a full turn. */
static double turned(double direction)
{
    const double turn = 2.0 * EF_PI;
    const double once = fmod(direction, turn);
    return once < 0.0 ? once + turn : once;
}

/* The directions in which the integrand has a kink: axes, corners of bin and outlet, to and from the fill
 * point, past a heap that does not reach the outlet. Rising, from 0 to a full turn; returns how many. */
static int kinks(const fill *f, double *direction)
{
    const efi_bin_shape *shape = f->shape;
    const double corner = atan2(shape->width_m, shape->length_m);
    const double outlet = atan2(shape->outlet_y_m, shape->outlet_x_m);
    const double inlet = atan2(shape->inlet_y_m, shape->inlet_x_m);
    int count = 0;
    for (int quarter = 0; quarter <= 4; quarter++) {
        direction[count++] = quarter * EF_PI / 2.0;
        if (quarter == 4 || shape->is_round)
            continue;
        const bool swapped = quarter % 2 == 1;
        direction[count++] = quarter * EF_PI / 2.0 + (swapped ? EF_PI / 2.0 - corner : corner);
        direction[count++] = quarter * EF_PI / 2.0 + (swapped ? EF_PI / 2.0 - outlet : outlet);
    }
    direction[count++] = turned(inlet);
    direction[count++] = turned(inlet + EF_PI);
    const double away = hypot(shape->inlet_x_m, shape->inlet_y_m);
    if (f->heap_slope * away > f->peak_m) {
        const double past = asin(f->peak_m / (f->heap_slope * away));
        direction[count++] = turned(inlet - past);
        direction[count++] = turned(inlet + past);
    }
    for (int i = 1; i < count; i++) {
        const double moved = direction[i];
        int k = i;
        for (; k > 0 && direction[k - 1] > moved; k--)
            direction[k] = direction[k - 1];
        direction[k] = moved;
    }
    return count;
}

static double volume(const fill *f, double tol)
{
    const efi_bin_shape *shape = f->shape;
    if (shape->is_round && shape->inlet_x_m == 0.0 && shape->inlet_y_m == 0.0)
        return 2.0 * EF_PI * along(f, 0.0);
    double direction[MOST_DIRECTIONS];
    const int count = kinks(f, direction);
    double sum = 0.0;
    for (int i = 1; i < count; i++)
        if (direction[i] > direction[i - 1])
            sum += sweep(f, direction[i - 1], direction[i], tol, MOST_HALVINGS);
    return sum;
}

efi_bin_volumes efi_bin_fill(const efi_bin_shape *shape, double repose_deg, double emptying_deg,
                             bool cleans_out)
{
    efi_bin_volumes volumes = {.level_m3 = efi_bin_level(shape)};
    const double tol = VOLUME_TOL * volumes.level_m3;
    fill f = {.shape = shape,
              .peak_m = (shape->is_flat ? 0.0 : shape->hopper_m) + shape->wall_m - shape->freeboard_m,
              .heap_slope = tan(repose_deg * RAD_PER_DEG)};
    volumes.filled_m3 = fmax(0.0, volume(&f, tol));
    volumes.live_m3 = volumes.filled_m3;
    if (!cleans_out) {
        f.left_slope = tan(emptying_deg * RAD_PER_DEG);
        volumes.live_m3 = fmin(fmax(0.0, volume(&f, tol)), volumes.filled_m3); /* but for rounding */
    }
    volumes.dead_m3 = volumes.filled_m3 - volumes.live_m3;
    return volumes;
}
