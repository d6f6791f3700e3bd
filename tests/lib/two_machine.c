/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "two_machine.h"

#include <math.h>

/* One term of the density. */
typedef struct term {
    double c;
    double lambda;
    double y1;
    double y2;
} term;

typedef struct density {
    int terms;
    term term[2];
    double bin;
} density;

/* The basis exp(lambda (x - s)), s = N for rising ones, so that nothing overflows. */
static double basis(const density *f, const term *t, double x)
{
    return exp(t->lambda * (x - (t->lambda > 0.0 ? f->bin : 0.0)));
}

/* f(x, a1, a2). */
static double value(const density *f, double x, int a1, int a2)
{
    double sum = 0.0;
    for (int j = 0; j < f->terms; j++)
        sum += f->term[j].c * basis(f, &f->term[j], x) * (a1 ? f->term[j].y1 : 1.0) *
               (a2 ? f->term[j].y2 : 1.0);
    return sum;
}

static double basis_integral(const density *f, const term *t)
{
    const double k = fabs(t->lambda);
    return k * f->bin < 1e-12 ? f->bin : -expm1(-k * f->bin) / k;
}

/* Integral of x times the basis. */
static double basis_moment(const density *f, const term *t)
{
    const double n = f->bin;
    const double k = fabs(t->lambda);
    if (k * n < 1e-5)
        return 0.5 * n * n - k * n * n * n / (t->lambda > 0.0 ? 6.0 : 3.0);
    if (t->lambda > 0.0)
        return n / k + expm1(-k * n) / (k * k);
    return (1.0 - exp(-k * n) * (1.0 + k * n)) / (k * k);
}

static double integral(const density *f, int a1, int a2)
{
    double sum = 0.0;
    for (int j = 0; j < f->terms; j++)
        sum += f->term[j].c * basis_integral(f, &f->term[j]) * (a1 ? f->term[j].y1 : 1.0) *
               (a2 ? f->term[j].y2 : 1.0);
    return sum;
}

static double moment(const density *f)
{
    double sum = 0.0;
    for (int j = 0; j < f->terms; j++)
        sum += f->term[j].c * basis_moment(f, &f->term[j]) * (1.0 + f->term[j].y1) * (1.0 + f->term[j].y2);
    return sum;
}

/* Masses at one end; the standing machine is 2 before the empty bin, 1 behind the full one, the other being
 * down. */
typedef struct masses {
    double both_down;
    double standing;
    double both_up;
} masses;

static masses masses_when_empty(const two_machine *l, const density *f)
{
    masses m = {0.0, 0.0, 0.0};
    const double f01 = value(f, 0.0, 0, 1);
    if (!l->counts_clock) {
        m.both_up = l->mu[1] * value(f, 0.0, 1, 0) / l->p[1];
        m.standing = (l->mu[1] * f01 + l->p[0] * m.both_up) / l->r[0];
        return m;
    }
    const double up = (l->mu[1] - l->mu[0]) * value(f, 0.0, 1, 1);
    const double p = l->p[0] + l->p[1];
    const double r = l->r[0] + l->r[1];
    m.standing = (l->mu[1] * f01 + l->p[0] * up / p) /
                 (l->r[0] + l->p[1] - l->p[0] * l->r[0] / p - l->r[1] * l->p[1] / r);
    m.both_down = l->p[1] * m.standing / r;
    m.both_up = (up + l->r[0] * m.standing) / p;
    return m;
}

static masses masses_when_full(const two_machine *l, const density *f, bool has_equal_speeds)
{
    masses m = {0.0, 0.0, 0.0};
    const double n = l->bin;
    const double p = l->p[0] + l->p[1];
    const double r = l->r[0] + l->r[1];
    const double f10 = value(f, n, 1, 0);
    if (has_equal_speeds && l->counts_clock) {
        m.standing = l->mu[0] * f10 / (l->r[1] + l->p[0] - l->p[1] * l->r[1] / p - l->r[0] * l->p[0] / r);
        m.both_up = l->r[1] * m.standing / p;
        m.both_down = l->p[0] * m.standing / r;
    } else if (has_equal_speeds) {
        m.both_up = l->mu[0] * value(f, n, 0, 1) / l->p[0];
        m.standing = (l->mu[0] * f10 + l->p[1] * m.both_up) / l->r[1];
    } else if (l->counts_clock) {
        m.standing = (l->mu[1] - l->mu[0]) * value(f, n, 1, 1) / l->r[1];
        m.both_down = l->p[0] * m.standing / r;
    } else {
        m.standing = l->mu[0] * f10 / l->r[1];
    }
    return m;
}

static density equal_speeds(const two_machine *l)
{
    const double p = l->p[0] + l->p[1];
    const double r = l->r[0] + l->r[1];
    const double lambda = (l->p[1] * l->r[0] - l->p[0] * l->r[1]) * (1.0 / p + 1.0 / r) / l->mu[0];
    return (density){1, {{1.0, lambda, r / p, r / p}}, l->bin};
}

/* mu1 < mu2. */
static density rising_speeds(const two_machine *l)
{
    const double a = l->mu[0] - l->mu[1];
    const double b = l->mu[1] * (l->r[1] - l->r[0] - l->p[0]) - l->mu[0] * (l->r[1] + l->p[1] - l->r[0]);
    const double c = l->mu[1] * l->r[1] * (l->r[0] + l->p[0]) - l->mu[0] * l->r[0] * (l->r[1] + l->p[1]);
    const double q = -0.5 * (b + copysign(sqrt(b * b - 4.0 * a * c), b));
    const double root[2] = {q / a, c / q};
    density f = {.terms = 2, .bin = l->bin};
    double condition[2];
    const double kappa = l->counts_clock ? l->p[0] * (l->mu[1] - l->mu[0]) / (l->r[0] + l->r[1]) : 0.0;
    for (int j = 0; j < 2; j++) {
        term *t = &f.term[j];
        t->c = 1.0;
        t->y1 = (l->r[0] + root[j]) / l->p[0];
        t->y2 = (l->r[1] - root[j]) / l->p[1];
        t->lambda = -(root[j] / l->mu[0]) * (1.0 + l->p[0] / (l->r[0] + root[j]));
        condition[j] = basis(&f, t, l->bin) * t->y2 * (l->mu[1] - kappa * t->y1);
    }
    f.term[0].c = condition[1];
    f.term[1].c = -condition[0];
    return f;
}

static two_machine_answer solve_rising(const two_machine *l)
{
    const bool has_equal_speeds = !(l->mu[0] < l->mu[1]);
    const density f = has_equal_speeds ? equal_speeds(l) : rising_speeds(l);
    const masses empty = masses_when_empty(l, &f);
    const masses full = masses_when_full(l, &f, has_equal_speeds);
    const double at_empty = empty.both_down + empty.standing + empty.both_up;
    const double at_full = full.both_down + full.standing + full.both_up;
    const double between = integral(&f, 0, 0) + integral(&f, 0, 1) + integral(&f, 1, 0) + integral(&f, 1, 1);
    const double all = between + at_empty + at_full;
    const double flow = l->mu[1] * (integral(&f, 0, 1) + integral(&f, 1, 1) + full.both_up) +
                        l->mu[0] * empty.both_up;
    return (two_machine_answer){.throughput = flow / all,
                                .level = (moment(&f) + l->bin * at_full) / all,
                                .empty = at_empty / all,
                                .full = at_full / all,
                                .starved = empty.standing / all,
                                .blocked = full.standing / all};
}

two_machine_answer two_machine_solve(const two_machine *line)
{
    if (!(line->mu[0] > line->mu[1]))
        return solve_rising(line);
    const two_machine mirror = {.mu = {line->mu[1], line->mu[0]},
                                .p = {line->p[1], line->p[0]},
                                .r = {line->r[1], line->r[0]},
                                .bin = line->bin,
                                .counts_clock = line->counts_clock};
    const two_machine_answer turned = solve_rising(&mirror);
    return (two_machine_answer){.throughput = turned.throughput,
                                .level = line->bin - turned.level,
                                .empty = turned.full,
                                .full = turned.empty,
                                .starved = turned.blocked,
                                .blocked = turned.starved};
}
