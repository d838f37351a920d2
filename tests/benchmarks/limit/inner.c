/* The inner loop of a watched tick, in plain C: the yardstick of the compiled rules.
 *
 * The same arithmetic in the same order on the same arrays as `gather`, `count_together`,
 * `look_round` (sim/rules/look.py), `change_layer`, `steer` and `cruise` (sim/rules/move.py), with
 * what those call. `records.h` is written from sim/records.py before this is compiled.
 */

#include <math.h>
#include <stdint.h>

#include "records.h"

typedef struct {
    Fish *fish;
    Pair *pair;
    uint8_t *shuns;
    double *hazards;
    double *together;
    double *loose;
    Look *looks;
    double *spots;
    uint8_t *sifted;
    Kind *kinds;
    Tank *tank;
    Settings *settings;
    Par *par;
    double *claim_curve;
    uint8_t *fits;
    double *dims;
    double *edges;
    int64_t *edge_top;
    int32_t *bin_start;
    int32_t *bin_edge;
    float *clear;
    uint8_t *sight;
    int64_t *sight_of;
    float *site_dist;
    float *site_next;
    uint8_t *site_seen;
    double *site_xy;
    double *door_out;
    int64_t *room_door;
    int64_t n, wide, n_kinds, n_doors, n_cells, n_bin_edge, sight_bytes;
} World;

enum { SWIM, PURSUE };
enum { NOWHERE, TO_DOOR, TO_CORNER, TO_FOOD };
enum { IN_TANK = 1 };
enum { WALK = 2, LAYER = 7 };

#define DOOR_VIEW 0.15
#define WIDER (1.0 + 1e-9)
#define ANYWHERE 1e300
#define NO_WAY 90.0
#define PACE_TIME 5.0
#define SKIN 0.001
#define GLASS 0.005

static inline double least(double a, double b) { return a < b ? a : b; }
static inline double most(double a, double b) { return a > b ? a : b; }

/* --- draws ------------------------------------------------------------------------------- */

static inline uint64_t mix(uint64_t z)
{
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

static inline uint64_t chain(uint64_t k, int64_t a)
{
    return mix(k + 0x9E3779B97F4A7C15u * ((uint64_t)a + 1));
}

static inline double low_half(uint64_t k)
{
    return ((double)(k & 0xFFFFFFFFu) + 0.5) * (1.0 / 4294967296.0);
}

static inline double high_half(uint64_t k)
{
    return ((double)(k >> 32) + 0.5) * (1.0 / 4294967296.0);
}

/* --- sight and claims -------------------------------------------------------------------- */

static inline int64_t cell_at(const World *w, double x, double y)
{
    int64_t nx = (int64_t)w->dims[4], ny = (int64_t)w->dims[5];
    int64_t ix = (int64_t)(x * w->dims[8]), iy = (int64_t)(y * w->dims[8]);
    ix = ix < 0 ? 0 : ix > nx - 1 ? nx - 1 : ix;
    iy = iy < 0 ? 0 : iy > ny - 1 ? ny - 1 : iy;
    return iy * nx + ix;
}

static inline int near_door(const World *w, double x, double y, int64_t room)
{
    int64_t first = w->room_door[2 * room], count = w->room_door[2 * room + 1];
    for (int64_t d = first; d < first + count; d++) {
        double dx = w->door_out[2 * d] - x, dy = w->door_out[2 * d + 1] - y;
        if (dx * dx + dy * dy < DOOR_VIEW * DOOR_VIEW)
            return 1;
    }
    return 0;
}

static inline int glances_meet(const World *w, const Look *g, const Look *h)
{
    if (w->tank->no_occlusion == 1)
        return 1;
    if (g->room >= 0)
        return g->room == h->room || (h->room < 0 && near_door(w, h->x, h->y, g->room));
    if (h->room >= 0)
        return near_door(w, g->x, g->y, h->room);
    int64_t table = w->sight_of[g->layer + h->layer];
    if (table < 0)
        return 1;
    const uint8_t *row = w->sight + (table * w->n_cells + g->cell) * w->sight_bytes;
    return row[h->cell >> 3] >> (h->cell & 7) & 1;
}

static inline double curve(const World *w, double u2)
{
    if (u2 >= 4.0)
        return 0.0;
    double place = u2 * 64.0;
    int64_t k = (int64_t)place;
    double part = place - (double)k;
    return (1.0 - part) * w->claim_curve[k] + part * w->claim_curve[k + 1];
}

static inline double site_claim(const World *w, const Fish *f, int64_t cell, double kind_reach)
{
    if (f->site < 0)
        return 0.0;
    int64_t at = f->site * w->n_cells + cell;
    double reach = f->reach * kind_reach;
    if (w->site_seen[at] == 0 && w->tank->no_occlusion == 0)
        reach *= sqrt(w->par->shade);
    double u = (double)w->site_dist[at] / reach;
    return curve(w, u * u);
}

static inline double layer_factor(const World *w, int64_t a, int64_t b)
{
    int64_t apart = a > b ? a - b : b - a;
    if (apart == 0)
        return 1.0;
    return apart == 1 ? w->par->layer_one : w->par->layer_two;
}

static inline double exposure(const World *w, int64_t i, int64_t j, double d2)
{
    const Fish *f = &w->fish[i], *g = &w->fish[j];
    const Par *p = w->par;
    double c = 0.0;
    if (f->site >= 0) {
        c = site_claim(w, f, g->cell, w->pair[i * w->n + j].kind_reach);
        if (c < p->claim_edge)
            c = 0.0;
        else if (g->site >= 0)
            c *= 1.0 - site_claim(w, g, g->cell, 1.0);
    }
    double near = p->own_space * f->length;
    if (d2 < near * near)
        c = most(c, p->own_space_claim * curve(w, d2 / (near * near)));
    return c * layer_factor(w, f->layer, g->layer);
}

static inline double hunting_range(const World *w, int64_t i, int64_t j, double d2)
{
    double near = w->par->own_space * w->fish[i].length;
    return curve(w, d2 / (near * near)) * layer_factor(w, w->fish[i].layer, w->fish[j].layer);
}

static inline int passes_a_door(const World *w, int64_t i, int64_t room)
{
    int64_t first = w->room_door[2 * room], count = w->room_door[2 * room + 1];
    for (int64_t d = first; d < first + count; d++)
        if (w->fits[i * w->n_doors + d] == 1)
            return 1;
    return 0;
}

/* --- look -------------------------------------------------------------------------------- */

static inline int free_to_attack(const World *w, const Fish *f)
{
    double now = w->tank->clock;
    return f->act == SWIM && f->room < 0 && f->hiding == 0 && now >= f->rest_until &&
           now >= f->act_until;
}

static void gather(World *w, double dt)
{
    const Par *p = w->par;
    double now = w->tank->clock;
    for (int64_t k = 0; k < w->n_kinds; k++)
        w->kinds[k].fellow = -1;
    for (int64_t i = w->n - 1; i >= 0; i--) {
        Fish *f = &w->fish[i];
        f->push_x = f->push_y = f->school_n = 0.0;
        f->glance = f->presence == IN_TANK;
        if (f->hazard > 0.0) {
            f->hazard = 0.0;
            for (int64_t j = 0; j < w->n; j++)
                w->hazards[i * w->n + j] = 0.0;
        }
        w->loose[i] = w->loose[w->wide + i] = 0.0;
        if (!f->glance) {
            w->spots[i] = INFINITY;
            continue;
        }
        if (now >= f->act_until)
            w->loose[f->hiding * w->wide + i] = dt;
        Look *g = &w->looks[i];
        g->x = f->x;
        g->y = f->y;
        g->cell = (uint32_t)f->cell;
        g->layer = (uint32_t)f->layer;
        g->species = (int32_t)f->species;
        g->room = f->room;
        g->free = f->act == SWIM && now >= f->act_until;
        g->schools = f->shoaling > 0.0;
        if (g->schools) {
            g->school_x = g->school_y = g->school_n = 0.0;
            g->fellow = w->kinds[f->species].fellow;
            w->kinds[f->species].fellow = i;
        }
        g->reach = 0.0;
        g->site = -1;
        double claims = 0.0;
        if (free_to_attack(w, f)) {
            double near = 2.0 * p->own_space * f->length;
            g->reach = f->goal == TO_FOOD ? ANYWHERE : WIDER * near * near;
            claims = g->reach;
            if (f->site >= 0) {
                g->site = f->site;
                double widest = most(p->reach_own_kind, most(p->reach_similar, p->reach_other));
                g->claim_to = 1.01 * widest * f->reach;
                double sx = f->x - w->site_xy[2 * f->site];
                double sy = f->y - w->site_xy[2 * f->site + 1];
                double away = sqrt(sx * sx + sy * sy) + g->claim_to + w->dims[9];
                claims = most(claims, WIDER * away * away);
            }
        }
        double far = p->avoid_distance * f->length;
        w->spots[i] = f->x;
        w->spots[w->wide + i] = f->y;
        w->spots[2 * w->wide + i] = claims;
        w->spots[3 * w->wide + i] = WIDER * far * far;
    }
}

static void count_together(World *w)
{
    int covered = 0;
    for (int64_t j = 0; j < w->n; j++)
        covered |= w->loose[w->wide + j] > 0.0;
    for (int64_t i = 0; i < w->n; i++) {
        if (w->loose[i] <= 0.0)
            continue;
        double *restrict open = w->together + i * w->wide;
        double *restrict cover = open + w->n * w->wide;
        for (int64_t j = 0; j < w->wide; j++)
            open[j] += w->loose[j];
        if (covered)
            for (int64_t j = 0; j < w->wide; j++)
                cover[j] += w->loose[w->wide + j];
    }
}

static inline void push_away(World *w, int64_t i, int64_t j, double dx, double dy, double d2)
{
    double strength = w->pair[i * w->n + j].avoid;
    Fish *f = &w->fish[i];
    double far = w->par->avoid_distance * w->fish[j].length;
    double d = sqrt(d2);
    if (d < far) {
        double push = strength * (1.0 - d / far) / (d + 1e-6);
        f->push_x += push * dx;
        f->push_y += push * dy;
    }
}

static inline void weigh_attack(World *w, int64_t i, int64_t j, double d2, double dt)
{
    Pair *link = &w->pair[i * w->n + j];
    Fish *f = &w->fish[i];
    const Fish *g = &w->fish[j];
    if (link->slow <= 0.0 || f->mate == j || (g->room >= 0 && !passes_a_door(w, i, g->room)))
        return;
    double e = link->prey == 1 ? hunting_range(w, i, j, d2) : exposure(w, i, j, d2);
    if (e <= 0.0 || f->compartment != g->compartment)
        return;
    if (g->hiding == 1)
        link->window_exposure_covered += e * dt;
    else
        link->window_exposure += e * dt;
    double hazard = link->slow * e;
    w->hazards[i * w->n + j] = hazard;
    f->hazard += hazard;
}

static inline int may_attack(const World *w, const Look *g, const Look *h, double d2)
{
    if (d2 < g->reach)
        return 1;
    return g->site >= 0 && w->site_dist[g->site * w->n_cells + h->cell] < g->claim_to;
}

static void school_round(World *w)
{
    for (int64_t i = 0; i < w->n; i++) {
        Fish *f = &w->fish[i];
        Look *g = &w->looks[i];
        if (!f->glance || !g->schools)
            continue;
        for (int64_t j = g->fellow; j >= 0; j = w->looks[j].fellow) {
            Look *h = &w->looks[j];
            if (!glances_meet(w, g, h))
                continue;
            g->school_x += h->x;
            g->school_y += h->y;
            g->school_n += 1.0;
            h->school_x += g->x;
            h->school_y += g->y;
            h->school_n += 1.0;
        }
        f->school_x = g->school_x;
        f->school_y = g->school_y;
        f->school_n = g->school_n;
    }
}

static inline void sift(World *w, int64_t i)
{
    int64_t wide = w->wide;
    const double *restrict x = w->spots, *restrict y = x + wide;
    const double *restrict claims = y + wide, *restrict dread = claims + wide;
    const uint8_t *restrict shuns = w->shuns + i * wide;
    const uint8_t *restrict shunned = w->shuns + (w->n + i) * wide;
    uint8_t *restrict sifted = w->sifted;
    double of_x = x[i], of_y = y[i], of_claims = claims[i], of_dread = dread[i];
    for (int64_t j = 0; j < wide; j++) {
        double dx = of_x - x[j], dy = of_y - y[j], d2 = dx * dx + dy * dy;
        sifted[j] = (uint8_t)((d2 < of_claims) | (d2 < claims[j])) |
                    ((uint8_t)(d2 < dread[j]) & shuns[j]) |
                    ((uint8_t)(d2 < of_dread) & shunned[j]);
    }
}

static void look_round(World *w, double dt)
{
    school_round(w);
    for (int64_t i = 0; i < w->n; i++) {
        if (!w->fish[i].glance)
            continue;
        const Look *g = &w->looks[i];
        sift(w, i);
        for (int64_t j = i + 1; j < w->n; j++) {
            if (!w->sifted[j])
                continue;
            const Look *h = &w->looks[j];
            if (!glances_meet(w, g, h))
                continue;
            double dx = g->x - h->x, dy = g->y - h->y, d2 = dx * dx + dy * dy;
            if (d2 < w->spots[3 * w->wide + j] && w->shuns[i * w->wide + j] == 1)
                push_away(w, i, j, dx, dy, d2);
            if (d2 < w->spots[3 * w->wide + i] && w->shuns[(w->n + i) * w->wide + j] == 1)
                push_away(w, j, i, -dx, -dy, d2);
            if (h->free == 1 && may_attack(w, g, h, d2))
                weigh_attack(w, i, j, d2, dt);
            if (g->free == 1 && may_attack(w, h, g, d2))
                weigh_attack(w, j, i, d2, dt);
        }
    }
}

/* --- movement ---------------------------------------------------------------------------- */

static inline void change_layer(World *w, Fish *f, double dt)
{
    uint64_t key = chain(chain(f->key, LAYER), w->tank->tick);
    int64_t wanted = f->layer;
    if (f->goal == TO_DOOR) {
        wanted = 0;
    } else if (f->goal == TO_CORNER) {
        wanted = 2;
    } else if (low_half(key) < dt / w->par->layer_dwell) {
        double u = high_half(key);
        wanted = u < f->floor_share ? 0 : u < f->floor_share + f->middle_share ? 1 : 2;
    }
    if (wanted > f->layer)
        f->layer += 1;
    else if (wanted < f->layer &&
             w->clear[(f->layer - 1) * w->n_cells + f->cell] > 0.75 * w->dims[3])
        f->layer -= 1;
}

static inline void lean(const World *w, const Fish *f, double *px, double *py)
{
    *px = w->par->flee_pull * f->push_x;
    *py = w->par->flee_pull * f->push_y;
    if (f->site >= 0) {
        int64_t at = f->site * w->n_cells + f->cell;
        double away = w->site_dist[at];
        if (f->tether < away && away < NO_WAY) {
            double dx = (double)w->site_next[2 * at] - f->x;
            double dy = (double)w->site_next[2 * at + 1] - f->y;
            double d = sqrt(dx * dx + dy * dy) + 1e-6;
            double pull = w->par->home_pull * least(away / f->tether - 0.5, 2.0);
            *px += pull * dx / d;
            *py += pull * dy / d;
        }
    } else if (f->school_n > 0.0) {
        double dx = f->school_x / f->school_n - f->x;
        double dy = f->school_y / f->school_n - f->y;
        double d = sqrt(dx * dx + dy * dy) + 1e-6;
        double pull = w->par->school_pull * f->shoaling * least(d / (3.0 * f->length), 1.0);
        *px += pull * dx / d;
        *py += pull * dy / d;
    }
    double near = 1.5 * f->length;
    if (f->x < near)
        *px += w->par->glass_pull * (1.0 - f->x / near);
    else if (f->x > w->dims[0] - near)
        *px -= w->par->glass_pull * (1.0 - (w->dims[0] - f->x) / near);
    if (f->y < near)
        *py += w->par->glass_pull * (1.0 - f->y / near);
    else if (f->y > w->dims[1] - near)
        *py -= w->par->glass_pull * (1.0 - (w->dims[1] - f->y) / near);
}

static inline void steer(World *w, Fish *f, double dt)
{
    const Par *p = w->par;
    f->stamina = least(1.0, f->stamina + dt / p->recovery_time);
    if (f->room >= 0) {
        f->speed = 0.0;
        return;
    }
    uint64_t key = chain(chain(f->key, WALK), w->tank->tick);
    double px, py;
    lean(w, f, &px, &py);
    double spread = p->wander * sqrt(12.0 * dt);
    double hx = f->head_x + px * dt + spread * (low_half(key) - 0.5);
    double hy = f->head_y + py * dt + spread * (high_half(key) - 0.5);
    double norm = sqrt(hx * hx + hy * hy);
    if (norm > 1e-9) {
        norm = 1.0 / norm;
        f->head_x = hx * norm;
        f->head_y = hy * norm;
    }
    uint64_t pace = chain(key, 1);
    if (low_half(pace) < dt / PACE_TIME)
        f->pace = 0.2 + 1.6 * high_half(pace);
    double speed = f->cruise * f->pace;
    if (f->goal != NOWHERE)
        speed = 2.5 * f->cruise;
    else if (f->push_x != 0.0 || f->push_y != 0.0)
        speed = most(speed, 1.5 * f->cruise);
    f->speed = speed;
}

static int64_t first_side(const World *w, double x, double y, double dx, double dy,
                          int64_t layer, double *share)
{
    int64_t cell = cell_at(w, x, y), side = -1;
    double best = 2.0;
    for (int64_t k = w->bin_start[cell]; k < w->bin_start[cell + 1]; k++) {
        int64_t e = w->bin_edge[k];
        if (w->edge_top[e] < layer)
            continue;
        const double *edge = w->edges + 4 * e;
        double ax = edge[0], ay = edge[1], ex = edge[2] - ax, ey = edge[3] - ay;
        double cross = dx * ey - dy * ex;
        if (cross == 0.0)
            continue;
        double qx = ax - x, qy = ay - y;
        double t = (qx * ey - qy * ex) / cross;
        double s = (qx * dy - qy * dx) / cross;
        if (0.0 <= t && t <= 1.0 && -1e-9 <= s && s <= 1.0 + 1e-9 && t < best) {
            best = t;
            side = e;
        }
    }
    *share = best;
    return side;
}

static int slide(const World *w, double x, double y, double dx, double dy, int64_t layer,
                 double *to_x, double *to_y)
{
    const double *dims = w->dims;
    int met = 0;
    double nx = least(most(x + dx, GLASS), dims[0] - GLASS);
    double ny = least(most(y + dy, GLASS), dims[1] - GLASS);
    if (nx != x + dx || ny != y + dy)
        met = 1;
    double sx = nx - x, sy = ny - y, length = sqrt(sx * sx + sy * sy), t;
    *to_x = nx;
    *to_y = ny;
    if (length == 0.0 || w->n_bin_edge == 0)
        return met;
    int64_t side = first_side(w, x, y, sx, sy, layer, &t);
    double reach = 1.0 + 2.0 * SKIN / length;
    if (side < 0) {
        side = first_side(w, x, y, sx * reach, sy * reach, layer, &t);
        if (side < 0)
            return met;
        t *= reach;
    }
    double go = least(most(t - 2.0 * SKIN / length, 0.0), 1.0);
    double px = x + sx * go, py = y + sy * go;
    const double *edge = w->edges + 4 * side;
    double ex = edge[2] - edge[0], ey = edge[3] - edge[1];
    double along = (sx * ex + sy * ey) / (ex * ex + ey * ey) * (1.0 - go);
    double qx = least(most(px + ex * along, GLASS), dims[0] - GLASS);
    double qy = least(most(py + ey * along, GLASS), dims[1] - GLASS);
    double lx = qx - px, ly = qy - py;
    length = sqrt(lx * lx + ly * ly);
    if (length > 0.0) {
        reach = 1.0 + SKIN / length;
        side = first_side(w, px, py, lx * reach, ly * reach, layer, &t);
        if (side >= 0) {
            go = least(most(t * reach - SKIN / length, 0.0), 1.0);
            qx = px + lx * go;
            qy = py + ly * go;
        }
        if (first_side(w, x, y, qx - x, qy - y, layer, &t) < 0) {
            *to_x = qx;
            *to_y = qy;
            return 2;
        }
    }
    if (first_side(w, x, y, px - x, py - y, layer, &t) < 0) {
        *to_x = px;
        *to_y = py;
        return 2;
    }
    *to_x = x;
    *to_y = y;
    return 2;
}

static void advance_fish(World *w, Fish *f, double distance)
{
    int64_t parts = (int64_t)(distance / (0.8 * w->dims[7])) + 1;
    double step = distance / (double)parts;
    for (int64_t k = 0; k < parts; k++) {
        double x, y;
        int met = slide(w, f->x, f->y, f->head_x * step, f->head_y * step, f->layer, &x, &y);
        double mx = x - f->x, my = y - f->y;
        f->x = x;
        f->y = y;
        if (met > 0) {
            double moved = sqrt(mx * mx + my * my);
            if (moved > 0.05 * step && moved > 1e-9) {
                f->head_x = mx / moved;
                f->head_y = my / moved;
            } else {
                f->head_x = -f->head_x;
                f->head_y = -f->head_y;
            }
        }
    }
    f->cell = cell_at(w, f->x, f->y);
}

static inline void cruise(World *w, Fish *f)
{
    if (f->room >= 0)
        return;
    const double *dims = w->dims;
    double step = f->speed * w->settings->tick;
    double x = f->x + f->head_x * step, y = f->y + f->head_y * step;
    if (step < dims[7] && w->clear[f->layer * w->n_cells + f->cell] > step + dims[3] &&
        GLASS < x && x < dims[0] - GLASS && GLASS < y && y < dims[1] - GLASS) {
        f->x = x;
        f->y = y;
        f->cell = cell_at(w, x, y);
    } else {
        advance_fish(w, f, step);
    }
}

/* --- the loop ---------------------------------------------------------------------------- */

void inner_ticks(World *w, int64_t ticks)
{
    Tank *t = w->tank;
    int64_t look_every = w->settings->look_every;
    double dt = w->settings->tick * (double)look_every;
    for (int64_t k = 0; k < ticks; k++) {
        t->tick += 1;
        if (t->tick % look_every == 0) {
            gather(w, dt);
            count_together(w);
            look_round(w, dt);
            for (int64_t i = 0; i < w->n; i++) {
                Fish *f = &w->fish[i];
                if (f->presence == IN_TANK && f->act == SWIM) {
                    if (f->room < 0)
                        change_layer(w, f, dt);
                    steer(w, f, dt);
                }
            }
        }
        for (int64_t i = 0; i < w->n; i++)
            if (w->fish[i].presence == IN_TANK && w->fish[i].act == SWIM)
                cruise(w, &w->fish[i]);
    }
}
