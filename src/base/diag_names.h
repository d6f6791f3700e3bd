/* SPDX-License-Identifier: GPL-3.0-or-later
 * The table of all diagnostic names: code, stable name, severity, what it means in one sentence.
 * Each has its smallest scenario and its full text in tests/bad/. */
#ifndef EFI_DIAG_NAMES_H
#define EFI_DIAG_NAMES_H

/* clang-format off */
#define EFI_DIAG_LIST(X)                                                                                                   \
    /* the file as text */                                                                                                 \
    X(YAML_SYNTAX, "yaml-syntax", EF_ERROR, "the text cannot be read as YAML")                                             \
    X(YAML_REFUSED, "yaml-refused", EF_ERROR, "a YAML feature that scenarios do not use")                                  \
    X(NOT_TEXT, "not-text", EF_ERROR, "bytes that are not UTF-8 text")                                                     \
    X(TOO_LARGE, "too-large", EF_ERROR, "more than the reader accepts")                                                    \
    X(TOO_MANY, "too-many", EF_WARNING, "there are more findings than are shown")                                           \
    X(CSV_SYNTAX, "csv-syntax", EF_ERROR, "a table that cannot be read as CSV")                                            \
    X(FILE_UNREAD, "file-unread", EF_ERROR, "a file beside the scenario that cannot be read")                              \
    X(SETTING_BAD, "setting-bad", EF_ERROR, "a setting of the command line that fits nowhere")                             \
    /* keys and values */                                                                                                  \
    X(KEY_TWICE, "key-twice", EF_ERROR, "the same key stands twice in one block")                                          \
    X(KEY_UNKNOWN, "key-unknown", EF_ERROR, "a key that means nothing here")                                               \
    X(KEY_MISSING, "key-missing", EF_ERROR, "a key that must be there is not")                                             \
    X(KEY_UNFIT, "key-unfit", EF_ERROR, "a key that does not go with this kind of station")                                \
    X(VALUE_SHAPE, "value-shape", EF_ERROR, "a block where a value belongs, or the other way round")                       \
    X(VALUE_EMPTY, "value-empty", EF_ERROR, "nothing stands after the colon")                                              \
    X(VALUE_UNKNOWN, "value-unknown", EF_ERROR, "a word that is not among those that fit")                                 \
    X(COUNT_BAD, "count-bad", EF_ERROR, "not a whole number in the range that fits")                                       \
    X(NUMBER_BAD, "number-bad", EF_ERROR, "not a number as it is written here")                                            \
    X(UNIT_MISSING, "unit-missing", EF_ERROR, "a number without its unit")                                                 \
    X(UNIT_UNKNOWN, "unit-unknown", EF_ERROR, "a unit that is not known")                                                  \
    X(UNIT_UNFIT, "unit-unfit", EF_ERROR, "a unit of another kind of quantity")                                            \
    X(SHARE_BAD, "share-bad", EF_ERROR, "not a share as it is written here")                                               \
    X(OUT_OF_RANGE, "out-of-range", EF_ERROR, "a value outside what is possible")                                          \
    X(NAME_UNKNOWN, "name-unknown", EF_ERROR, "a name that is defined nowhere")                                            \
    X(NAME_RESERVED, "name-reserved", EF_ERROR, "a word of the language used as a name")                                   \
    X(NAME_BAD, "name-bad", EF_ERROR, "a name that cannot be printed on one line")                                         \
    X(CURRENCY_MIXED, "currency-mixed", EF_ERROR, "money of two currencies")                                               \
    X(VERSION_UNKNOWN, "version-unknown", EF_ERROR, "a version of the language that this program does not know")           \
    /* materials and crops */                                                                                              \
    X(WANTED_NONE, "wanted-none", EF_ERROR, "no material is wanted, so there is no product")                               \
    X(RECEIPT_SUM, "receipt-sum", EF_ERROR, "the receipt does not add up to 100 %")                                        \
    X(REST_TWICE, "rest-twice", EF_ERROR, "two of them take the rest")                                                     \
    X(DENSITY_TWICE, "density-twice", EF_ERROR, "density and test weight say the same thing twice")                        \
    X(TRADE_WEIGHT_MISSING, "trade-weight-missing", EF_ERROR, "a rate in bushels of a crop without a trade weight")        \
    X(DENSITY_MISSING, "density-missing", EF_ERROR, "a volume is given, but the crop has no density")                      \
    X(RECEIPT_UNWANTED, "receipt-unwanted", EF_ERROR, "a receipt that holds nothing wanted")                               \
    X(DENSITY_ODD, "density-odd", EF_WARNING, "a density that no seed or grain has")                                       \
    X(MATERIAL_UNUSED, "material-unused", EF_WARNING, "a material that no crop brings")                                    \
    /* calendar */                                                                                                         \
    X(DATE_BAD, "date-bad", EF_ERROR, "not a date as it is written here")                                                  \
    X(TIME_BAD, "time-bad", EF_ERROR, "not a time of the day as it is written here")                                       \
    X(DAYS_BAD, "days-bad", EF_ERROR, "not days of the week as they are written here")                                     \
    X(TIME_EMPTY, "time-empty", EF_ERROR, "a shift, break, overtime or maintenance that lasts no time")                    \
    X(END_EARLY, "end-early", EF_ERROR, "an end before its beginning")                                                     \
    X(SHIFTS_OVERLAP, "shifts-overlap", EF_ERROR, "two shifts at the same time")                                           \
    X(BREAK_OUTSIDE, "break-outside", EF_ERROR, "a break at a time when nobody works")                                     \
    X(BREAKS_OVER, "breaks-over", EF_ERROR, "breaks that leave nothing of a shift")                                        \
    X(OVERTIME_OVERLAP, "overtime-overlap", EF_ERROR, "overtime at a time that is worked already")                         \
    X(MAINTENANCE_WHEN, "maintenance-when", EF_ERROR, "maintenance that says in no way, or in two, when it is")            \
    X(HOLIDAY_TWICE, "holiday-twice", EF_WARNING, "a day that is a holiday twice")                                         \
    /* stations and spouts */                                                                                              \
    X(INTAKE_NONE, "intake-none", EF_ERROR, "the plant has no intake")                                                     \
    X(OUTLET_NONE, "outlet-none", EF_ERROR, "the plant has no outlet for a product")                                       \
    X(WAY_TWICE, "way-twice", EF_ERROR, "both a single way on and discharges")                                             \
    X(WAY_MISSING, "way-missing", EF_ERROR, "the material has no way on from here")                                        \
    X(REST_MISSING, "rest-missing", EF_ERROR, "no discharge takes the rest")                                               \
    X(SHARES_OVER, "shares-over", EF_ERROR, "the discharges take more than there is")                                      \
    X(SPLIT_SUM, "split-sum", EF_ERROR, "the shares of a split's branches do not add up")                                  \
    X(INTAKE_FED, "intake-fed", EF_ERROR, "a spout leads into an intake")                                                  \
    X(FEEDS_ITSELF, "feeds-itself", EF_ERROR, "a station that discharges into itself")                                     \
    X(UNREACHED, "unreached", EF_ERROR, "a station that nothing reaches")                                                  \
    X(DEAD_END, "dead-end", EF_ERROR, "material that comes here can reach no outlet")                                      \
    X(LOOP_CLOSED, "loop-closed", EF_ERROR, "a loop that never lets a material go")                                        \
    X(PRODUCT_UNREACHED, "product-unreached", EF_ERROR, "a crop that reaches no product outlet")                           \
    X(CAPACITY_MISSING, "capacity-missing", EF_ERROR, "a crop passes a station that has no capacity for it")               \
    X(LEAST_FEED_OVER, "least-feed-over", EF_ERROR, "a least feed above the capacity")                                     \
    X(STEADY_WITHOUT_BIN, "steady-without-bin", EF_WARNING, "a steady-feed station without a bin above it")                \
    X(SEPARATES_NOTHING, "separates-nothing", EF_WARNING, "a separating machine with a single way on")                     \
    X(NAMES_ALIKE, "names-alike", EF_WARNING, "two names that differ only in case, blanks or hyphens")
/* clang-format on */

#endif
