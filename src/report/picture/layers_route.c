/* SPDX-License-Identifier: GPL-3.0-or-later
 * The points of the arrows: where they leave and enter boxes, and the way of those that close a loop. */
#include "report/picture/layers_inside.h"

#include <math.h>
#include <stdlib.h>

#define PORT_GAP   5.0  /* px between strokes at one box */
#define PORT_SHARE 0.8  /* of a box's width that ports may take */
#define LANE_GAP   12.0 /* px between a lane and what stands beside it */
enum {
    LOOP_POINTS = 6
};

/* One end of an arrow at a box. */
typedef struct port {
    int arrow;
    double toward; /* x of where it comes from or goes to */
    double x;
} port;

static int by_direction(const void *left, const void *right)
{
    const port *a = left;
    const port *b = right;
    if (a->toward != b->toward)
        return a->toward < b->toward ? -1 : 1;
    return a->arrow - b->arrow;
}

/* Spreads ports side by side, the widest arrow's in the middle of their box as far as the others have room.
 */
static void spread_ports(const efi_layers *of, int box, port *ports, int count)
{
    qsort(ports, (size_t)count, sizeof *ports, by_direction);
    double wide = 0.0;
    double widest = 0.0;
    double middle = 0.0; /* of the widest */
    for (int i = 0; i < count; i++) {
        const double width = of->arrow[ports[i].arrow].width;
        wide += i > 0 ? PORT_GAP : 0.0;
        middle = width > widest ? wide + 0.5 * width : middle;
        widest = fmax(widest, width);
        wide += width;
    }
    const double room = PORT_SHARE * of->box[box].width;
    const double scale = fmin(1.0, room / wide);
    const double slack = 0.5 * (room - scale * wide);
    double x = -0.5 * scale * wide + fmax(-slack, fmin(slack, scale * (0.5 * wide - middle)));
    for (int i = 0; i < count; i++) {
        const double width = scale * of->arrow[ports[i].arrow].width;
        ports[i].x = of->box[box].x + x + 0.5 * width;
        x += width + scale * PORT_GAP;
    }
}

/* Where an arrow stands one layer on from its box, seen from that end. */
static double next_x(const efi_layers_work *work, int arrow, bool leaving)
{
    int found = -1;
    for (int p = 0; p < work->pieces; p++)
        if (work->piece[p].arrow == arrow && (found < 0 || !leaving))
            found = p;
    return work->node[leaving ? work->piece[found].lower : work->piece[found].upper].x;
}

/* Ports of all arrows that run down, at one end of each: `x` has shape [arrows]. */
static ef_status find_ports(const efi_layers_work *work, bool leaving, double *x)
{
    const efi_layers *of = work->of;
    port *ports = efi_arena_get(work->arena, (size_t)of->arrows, sizeof *ports);
    if (!ports)
        return EF_MEMORY;
    for (int b = 0; b < of->boxes; b++) {
        int count = 0;
        for (int a = 0; a < of->arrows; a++) {
            const efi_layers_arrow *arrow = &of->arrow[a];
            if (!arrow->closes_loop && (leaving ? arrow->from : arrow->to) == b)
                ports[count++] = (port){.arrow = a, .toward = next_x(work, a, leaving)};
        }
        if (count > 0)
            spread_ports(of, b, ports, count);
        for (int i = 0; i < count; i++)
            x[ports[i].arrow] = ports[i].x;
    }
    return EF_OK;
}

static ef_status route_down(const efi_layers_work *work, efi_arena *memory, int a, double from_x, double to_x)
{
    efi_layers_arrow *arrow = &work->of->arrow[a];
    const int span = work->node[arrow->to].layer - work->node[arrow->from].layer;
    const size_t points = 2 * (size_t)span + 2;
    efi_layers_point *point = efi_arena_get(memory, points, sizeof *point);
    if (!point)
        return EF_MEMORY;
    const efi_layers_box *from = &work->of->box[arrow->from];
    const efi_layers_box *to = &work->of->box[arrow->to];
    int count = 0;
    point[count++] = (efi_layers_point){from_x, from->y + 0.5 * from->height};
    if (point[0].y < work->bottom[from->layer]) /* past taller boxes beside it */
        point[count++] = (efi_layers_point){from_x, work->bottom[from->layer]};
    for (int p = 0; p < work->pieces; p++) {
        if (work->piece[p].arrow != a || work->piece[p].lower < work->of->boxes)
            continue;
        const efi_layers_node *passed = &work->node[work->piece[p].lower];
        point[count++] = (efi_layers_point){passed->x, work->top[passed->layer]};
        point[count++] = (efi_layers_point){passed->x, work->bottom[passed->layer]};
    }
    const double end_y = to->y - 0.5 * to->height;
    if (end_y > work->top[to->layer])
        point[count++] = (efi_layers_point){to_x, work->top[to->layer]};
    point[count++] = (efi_layers_point){to_x, end_y};
    arrow->point = point;
    arrow->points = count;
    return EF_OK;
}

/* ---- loops ----------------------------------------------------------------------------------------------
 */

/* How far a layer reaches: `left` and `right` have shape [layers]. */
typedef struct reach {
    double *left;
    double *right;
} reach;

static ef_status find_reach(const efi_layers_work *work, reach *r)
{
    r->left = efi_arena_get(work->arena, (size_t)work->layers, sizeof *r->left);
    r->right = efi_arena_get(work->arena, (size_t)work->layers, sizeof *r->right);
    if (!r->left || !r->right)
        return EF_MEMORY;
    for (int l = 0; l < work->layers; l++) {
        r->left[l] = INFINITY;
        r->right[l] = -INFINITY;
    }
    for (int n = 0; n < work->nodes; n++) {
        const efi_layers_node *node = &work->node[n];
        r->left[node->layer] = fmin(r->left[node->layer], node->x - 0.5 * node->width);
        r->right[node->layer] = fmax(r->right[node->layer], node->x + 0.5 * node->width);
    }
    return EF_OK;
}

/* Takes the nearer side for a loop from layer `low` up to layer `high`, reserves a lane there, gives its x.
 */
static double take_lane(const reach *r, int high, int low, double middle_x, double width)
{
    double left = INFINITY;
    double right = -INFINITY;
    for (int l = high; l <= low; l++) {
        left = fmin(left, r->left[l]);
        right = fmax(right, r->right[l]);
    }
    const double half = 0.5 * width + LANE_GAP;
    const bool to_right = right - middle_x <= middle_x - left;
    const double lane = to_right ? right + half : left - half;
    for (int l = high; l <= low; l++) {
        if (to_right)
            r->right[l] = lane + 0.5 * width;
        else
            r->left[l] = lane - 0.5 * width;
    }
    return lane;
}

/* Is nothing between a box and the lane in the box's layer? */
static bool is_free(const efi_layers_work *work, int box, double lane)
{
    const efi_layers_node *mine = &work->node[box];
    for (int n = 0; n < work->nodes; n++) {
        const efi_layers_node *node = &work->node[n];
        if (n != box && node->layer == mine->layer && (node->x > mine->x) == (lane > mine->x))
            return false;
    }
    return true;
}

/* Points from a box to the lane: sideways when the way is free, else through the space below (or above). */
static int leave_box(const efi_layers_work *work, int box, double lane, bool below, double part,
                     efi_layers_point *point)
{
    const efi_layers_box *of = &work->of->box[box];
    const double side = lane > of->x ? 1.0 : -1.0;
    if (is_free(work, box, lane)) {
        const double y = of->y + (below ? 0.2 : -0.2) * of->height;
        point[0] = (efi_layers_point){of->x + side * 0.5 * of->width, y};
        point[1] = (efi_layers_point){lane, y};
        return 2;
    }
    const double edge = below ? of->y + 0.5 * of->height : of->y - 0.5 * of->height;
    const double away = below ? work->bottom[of->layer] + part * work->of->gap_y
                              : work->top[of->layer] - part * work->of->gap_y;
    const double x = of->x + side * 0.45 * of->width;
    point[0] = (efi_layers_point){x, edge};
    point[1] = (efi_layers_point){x, away};
    point[2] = (efi_layers_point){lane, away};
    return 3;
}

static ef_status route_loop(const efi_layers_work *work, efi_arena *memory, const reach *r, int a, int turn)
{
    efi_layers_arrow *arrow = &work->of->arrow[a];
    efi_layers_point *point = efi_arena_get(memory, LOOP_POINTS, sizeof *point);
    if (!point)
        return EF_MEMORY;
    const int from = work->node[arrow->from].layer;
    const int to = work->node[arrow->to].layer;
    const double middle = 0.5 * (work->node[arrow->from].x + work->node[arrow->to].x);
    const double lane = take_lane(r, to < from ? to : from, to < from ? from : to, middle, arrow->width);
    const double part = 0.3 + 0.12 * (turn % 4);
    efi_layers_point end[3];
    int count = leave_box(work, arrow->from, lane, true, part, point);
    int last = leave_box(work, arrow->to, lane, false, part, end);
    while (last > 0)
        point[count++] = end[--last];
    arrow->point = point;
    arrow->points = count;
    return EF_OK;
}

/* Moves all so that the leftmost thing is at 0. */
static void shift_all(const efi_layers_work *work, const reach *r)
{
    double left = INFINITY;
    double right = -INFINITY;
    for (int l = 0; l < work->layers; l++) {
        left = fmin(left, r->left[l]);
        right = fmax(right, r->right[l]);
    }
    efi_layers *of = work->of;
    of->width = right - left;
    for (int b = 0; b < of->boxes; b++)
        of->box[b].x -= left;
    for (int a = 0; a < of->arrows; a++) {
        efi_layers_point *point = of->arrow[a].point;
        for (int i = 0; i < of->arrow[a].points; i++)
            point[i].x -= left;
    }
}

ef_status efi_layers_route(efi_layers_work *work, efi_arena *points)
{
    const efi_layers *of = work->of;
    double *from_x = efi_arena_get(work->arena, (size_t)of->arrows, sizeof *from_x);
    double *to_x = efi_arena_get(work->arena, (size_t)of->arrows, sizeof *to_x);
    reach r;
    if (!from_x || !to_x)
        return EF_MEMORY;
    EF_TRY(find_ports(work, true, from_x));
    EF_TRY(find_ports(work, false, to_x));
    EF_TRY(find_reach(work, &r));
    int turn = 0;
    for (int a = 0; a < of->arrows; a++) {
        if (of->arrow[a].closes_loop)
            EF_TRY(route_loop(work, points, &r, a, turn++));
        else
            EF_TRY(route_down(work, points, a, from_x[a], to_x[a]));
    }
    shift_all(work, &r);
    return EF_OK;
}
