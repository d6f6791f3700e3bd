/* SPDX-License-Identifier: GPL-3.0-or-later
 * From tree to typed scenario by the table of the language: what the files of the binder share. */
#ifndef EFI_BIND_H
#define EFI_BIND_H

#include "base/text.h"
#include "model/language.h"

/* One run of the binder. */
typedef struct efi_binder {
    ef_scenario *scenario;
    ef_diags *diags;
    efi_crop *crop;           /* while the block of a crop or a lot is bound */
    efi_crop unread_crop;     /* of a lot whose crop is not known: a crop all of whose values are bad */
    size_t cells;             /* values by crop and material so far */
    int volumes;              /* of bins, computed so far; see efi_steel_afford */
    bool failed;              /* no memory */
    const double *everything; /* shape [crop][material], all 1; NULL until it is wanted */
    /* scratch of efi_bind_by_crop, shape [crop] each */
    const efi_node **by_crop;
    int *crop_order;
} efi_binder;

/* Where in the file we are, as keys from the innermost out. Lives on the stack. */
typedef struct efi_path {
    const struct efi_path *up;
    const efi_node *key;
} efi_path;

efi_path efi_path_to(const efi_path *up, const efi_node *key);

/* The path of a value by crop, given that of the whole: one key longer when `value` is an entry of `whole`.
 */
efi_path efi_path_by_crop(const efi_path *path, const efi_node *whole, const efi_node *value);

/* Takes over a text (which is empty after that) as one with the lifetime of the findings. */
const char *efi_bind_keep(efi_binder *b, efi_text *text);

/* A share as text, in percent without the sign, 6 significant digits; lives as long as the findings. */
const char *efi_bind_percent(efi_binder *b, double share);

/* The path as text, "stations.Deck.capacity"; lives as long as the findings. */
const char *efi_path_text(efi_binder *b, const efi_path *path);

/* A text of the file for a message: on one line, long ones cut; lives as long as the findings. */
const char *efi_bind_shown(efi_binder *b, const efi_node *node);

/* The beginning of a finding at a node: place, excerpt, key, and what was found when the node is a text. */
ef_diag efi_bind_draft(efi_binder *b, const efi_path *path, const efi_node *at);

/* Adds one finding of this code at a node. `message`, `allowed` and `likely` may be NULL. */
void efi_bind_report(efi_binder *b, efi_diag_code code, const efi_path *path, const efi_node *at,
                     const char *message, const char *allowed, const char *likely);

/* A text in the scenario's arena closed by NUL; NULL (and `failed`) without memory. */
const char *efi_bind_text(efi_binder *b, const efi_node *node);

/* Zeroed memory in the scenario's arena; NULL (and `failed`) without memory. */
void *efi_bind_get(efi_binder *b, size_t count, size_t size);

/* Counts values by crop or by crop and material; reports once and returns false when they become too many. */
bool efi_bind_cells(efi_binder *b, size_t cells, const efi_node *at);

/* Binds the root of the tree to the scenario. */
void efi_bind_file(efi_binder *b, const efi_node *root);

/* Binds one value by its field into the struct at `into`. Reports what is wrong; the slot then keeps its
 * default, or says that it is bad. */
void efi_bind_value(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                    void *into);

/* Is the node a text, as a value must be, or a block of `of_what`? Reports it when not, unless all was said.
 */
bool efi_bind_is_text(efi_binder *b, const efi_node *node, const efi_path *path);
bool efi_bind_is_map(efi_binder *b, const efi_node *node, const efi_path *path, const char *of_what);

/* Is the node a text that can be a name: on one line, not too long, no blanks around it? Reports it when not.
 */
bool efi_bind_is_name(efi_binder *b, const efi_node *node, const efi_path *path);

/* Is the version of the language, whose key is `key`, one that we know? Reports it when not. */
bool efi_bind_version(efi_binder *b, const efi_node *key);

/* The words of a choice, for "allowed"; lives as long as the findings. */
const char *efi_bind_choices(efi_binder *b, const efi_field *field);

/* Reads a share, 0 to 1; reports and returns false when it is none. */
bool efi_bind_share(efi_binder *b, const efi_node *node, const efi_path *path, double *share);

/* Reads a quantity of a field that does not differ by crop; reports what is wrong, `*value` is then bad. */
void efi_bind_quantity(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                       efi_value *value);

/* The names of a list of the scenario; those of the stations for EFI_NAMES_NONE too. */
efi_index *efi_bind_index(const efi_binder *b, efi_names names);

/* Position of a name in a list; reports and returns -1 when it is not there. */
int efi_bind_find(efi_binder *b, efi_names names, const efi_node *node, const efi_path *path);

/* Does a list hold this name? Reports nothing. */
bool efi_bind_knows(const efi_binder *b, efi_names names, const efi_node *node);

/* The name under `names` that is nearest to `found` among those that do not come from table `source`; NULL
 * when none is near. */
const char *efi_bind_nearest(efi_binder *b, efi_names names, const char *found, unsigned source);

/* The values of fields whose type has a file of its own. */
void efi_bind_receipt(efi_binder *b, const efi_node *node, const efi_path *path, const double **receipt);
/* The share of one material for every crop, into share[crop x materials + material]; false when it cannot be
 * read. */
bool efi_bind_material_share(efi_binder *b, const efi_node *node, const efi_path *path, double *share,
                             int material);
void efi_bind_turns(efi_binder *b, const efi_node *node, const efi_path *path, const double **turns);
void efi_bind_takes(efi_binder *b, const efi_node *node, const efi_path *path, efi_discharge *discharge);
void efi_bind_when(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                   efi_when *when);
void efi_bind_clocks(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                     efi_clock_list *list);
void efi_bind_by_date(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                      efi_by_date *when);
void efi_bind_texts(efi_binder *b, const efi_field *field, const efi_node *node, const efi_path *path,
                    void *into);
void efi_bind_list(efi_binder *b, efi_names names, const efi_node *node, const efi_path *path,
                   efi_station_list *list);

/*
 * Spreads a map by crop, or a single value, over the crops: b->by_crop is the value of each crop, NULL where
 * there is none, and b->crop_order the crops so that those with the same value follow one another. Reports
 * unknown crops; crops without value then get efi_node_unread. Both hold until the next call. False (and
 * `failed`) without memory, or when there are too many values.
 */
bool efi_bind_by_crop(efi_binder *b, const efi_node *node, const efi_path *path);

/* Fills in what follows from what was given: defaults, the single way on, shares of the rest. */
void efi_bind_finish(efi_binder *b);

/* The same for the calendar (calendar.c), and for lots and season (season.c), which come after it. */
void efi_calendar_finish(efi_binder *b);
void efi_season_finish(efi_binder *b);

/* Runs the semantic checks (rules.c). */
void efi_rules_run(efi_binder *b);

#endif
