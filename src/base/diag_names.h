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
    X(TOO_MANY, "too-many", EF_WARNING, "there are more findings than are shown")                                          \
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
    /* the plant */                                                                                                        \
    X(SHIFT_LONG, "shift-long", EF_ERROR, "a shift of more than a day")                                                    \
    X(POWER_SHORT, "power-short", EF_WARNING, "idle power alone is above the power limit")                                 \
    X(SURGE_RULE_LONG, "surge-rule-long", EF_WARNING, "a surge rule longer than the shift")                                \
    X(POWER_UNUSED, "power-unused", EF_WARNING, "a power limit, but no station says what it draws")                        \
    X(LABOUR_PRICE_UNUSED, "labour-price-unused", EF_WARNING, "a price of labour, but nobody works anywhere")           \
    X(ENERGY_PRICE_UNUSED, "energy-price-unused", EF_WARNING, "an energy price, but no station says what it draws")        \
    X(PEOPLE_SHORT, "people-short", EF_WARNING, "the stations ask for more people than a shift has")                       \
    X(LINE_UNUSED, "line-unused", EF_WARNING, "a line without stations")                                                   \
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
    X(WANTED_LOST, "wanted-lost", EF_ERROR, "a wanted material that reaches no product outlet")                            \
    X(NEVER_REMOVED, "never-removed", EF_WARNING, "an unwanted material that all ends in the product")                     \
    X(MOISTURE_ODD, "moisture-odd", EF_WARNING, "a moisture that receipts do not have")                                    \
    X(REPOSE_ODD, "repose-odd", EF_WARNING, "an angle of repose that seed and grain do not have")                          \
    X(TRADE_WEIGHT_ODD, "trade-weight-odd", EF_WARNING, "a trade weight that no crop has")                                 \
    X(DENSITY_APART, "density-apart", EF_WARNING, "density and trade weight that do not fit together")                     \
    X(MOISTURE_MISSING, "moisture-missing", EF_WARNING, "capacity goes by moisture, but the crop gives none")              \
    X(PRICE_INVERTED, "price-inverted", EF_WARNING, "a receipt that costs more than every product earns")                  \
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
    /* stops and loads */                                                                                                  \
    X(STOP_WHEN, "stop-when", EF_ERROR, "a stop that says in no way, or in two, when it comes")                            \
    X(SHAPE_MISSING, "shape-missing", EF_ERROR, "a form of a random time without its shape")                               \
    X(STOP_LONG, "stop-long", EF_ERROR, "a planned stop as long as the time from one to the next")                         \
    X(INSTANT_WITHOUT_BIN, "instant-without-bin", EF_ERROR, "loads tipped at once where there is no bin")                  \
    X(RECORD_UNFIT, "record-unfit", EF_ERROR, "a recorded stop of a station that never stops")                             \
    X(CALENDAR_MISSING, "calendar-missing", EF_ERROR, "a date where no calendar says when hours begin to count")           \
    X(RECORDS_OVERLAP, "records-overlap", EF_ERROR, "two recorded stops of a station at the same time")                    \
    X(CREW_HOURS, "crew-hours", EF_ERROR, "hours of a crew that are said in part, or twice")                               \
    X(TRAVEL_UNFIT, "travel-unfit", EF_ERROR, "a travel time of several conveyors at once")                                \
    X(BATCH_UNFIT, "batch-unfit", EF_ERROR, "batches where material must pass, or of several machines at once")            \
    X(LOADS_WHICH, "loads-which", EF_ERROR, "receipts that say in no way, or in two, what a load brings")                  \
    X(LOADS_SUM, "loads-sum", EF_ERROR, "sorts of load that do not add up to 100 %")                                       \
    X(RECEIPTS_HOURS, "receipts-hours", EF_ERROR, "hours of receipts that are said in part, or twice")                     \
    X(KEY_IDLE, "key-idle", EF_WARNING, "a key that has no effect beside the others")                                      \
    X(LOCK_OUT_OVER, "lock-out-over", EF_WARNING, "a lock-out longer than the stop")                                       \
    X(CREW_UNUSED, "crew-unused", EF_WARNING, "a crew that sees to no stop")                                               \
    /* stations and spouts */                                                                                              \
    X(INTAKE_NONE, "intake-none", EF_ERROR, "the plant has no intake")                                                     \
    X(CROP_NOT_RECEIVED, "crop-not-received", EF_ERROR, "a crop that comes in at no intake")                               \
    X(OUTLET_NONE, "outlet-none", EF_ERROR, "the plant has no outlet for a product")                                       \
    X(WAY_TWICE, "way-twice", EF_ERROR, "both a single way on and discharges")                                             \
    X(WAY_MISSING, "way-missing", EF_ERROR, "the material has no way on from here")                                        \
    X(REST_MISSING, "rest-missing", EF_ERROR, "no discharge takes the rest")                                               \
    X(TURNS_ITSELF, "turns-itself", EF_ERROR, "a material that is turned into itself")                                      \
    X(TURNS_OVER, "turns-over", EF_ERROR, "more of a material is turned than there is")                                     \
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
    X(BRANCH_RANGE, "branch-range", EF_ERROR, "a least share above the most share")                                        \
    X(SPLIT_ROOM, "split-room", EF_ERROR, "the branches of a split together may not take everything")                      \
    X(BY_PASS_UNMARKED, "by-pass-unmarked", EF_ERROR, "a branch leads around a machine without being marked")              \
    X(TREATED_FEED, "treated-feed", EF_ERROR, "treated seed can reach an outlet for food or feed")                         \
    X(TREATED_RETURN, "treated-return", EF_ERROR, "treated seed can come back to the treater")                             \
    X(TREATED_USE_UNSAID, "treated-use-unsaid", EF_ERROR, "treated seed reaches an outlet whose use is not said")          \
    X(CAPACITY_TWICE, "capacity-twice", EF_ERROR, "a capacity beside the size that it follows from")                       \
    X(SCREW_STEEP, "screw-steep", EF_ERROR, "a screw too steep for the rule of capacity")                                  \
    X(SCREW_SHAFT, "screw-shaft", EF_ERROR, "a shaft as thick as the screw")                                               \
    X(CONVEYING_NOTHING, "conveying-nothing", EF_ERROR, "a conveyor that runs empty")                                      \
    X(LEAST_RATE_OVER, "least-rate-over", EF_ERROR, "a least rate above what the intakes may take")                        \
    X(TREATED_MIXED, "treated-mixed", EF_WARNING, "untreated material joins the treated stream")                           \
    X(BY_PASS_USELESS, "by-pass-useless", EF_WARNING, "a by-pass that leads around nothing")                               \
    X(SPLIT_SINGLE, "split-single", EF_WARNING, "a split with one branch")                                                 \
    X(SPLIT_SAME, "split-same", EF_WARNING, "two branches of a split that lead to the same station")                       \
    X(TAKES_NOTHING, "takes-nothing", EF_WARNING, "a discharge that takes nothing")                                        \
    X(TURNS_NOTHING, "turns-nothing", EF_WARNING, "a machine turns a material that nothing brings")                        \
    X(REST_TAKES_NOTHING, "rest-takes-nothing", EF_WARNING, "the others leave nothing for the rest")                       \
    X(LOOP_OF_CONVEYORS, "loop-of-conveyors", EF_WARNING, "a loop of conveyors alone")                                     \
    X(LOOP_WITHOUT_BIN, "loop-without-bin", EF_WARNING, "a return to a steady-feed station past its bin")                  \
    X(LEAST_FEED_UNMET, "least-feed-unmet", EF_WARNING, "a least feed above what the intakes may take")                    \
    X(DERATING_EMPTY, "derating-empty", EF_WARNING, "a derating that says nothing")                                        \
    X(DERATING_FLOOR, "derating-floor", EF_WARNING, "a derating that would leave less than is kept")                       \
    X(STEADY_BAND_WIDE, "steady-band-wide", EF_WARNING, "a steady feed that may swing widely")                             \
    X(LIVE_VOLUME_MISSING, "live-volume-missing", EF_WARNING, "a bin above a steady-feed station without its live volume") \
    X(SIZING_RANGE, "sizing-range", EF_ERROR, "a bin whose least volume is above its most")                                \
    X(SIZES_UNFIT, "sizes-unfit", EF_ERROR, "a bin without a standard size that it may have")                              \
    X(KEEP_WITHOUT_VOLUME, "keep-without-volume", EF_ERROR, "a bin that is to stay as it is without a volume")             \
    X(SIZING_KEPT, "sizing-kept", EF_WARNING, "a bin that is to stay as it is with something to choose")                   \
    X(BIN_COST_MISSING, "bin-cost-missing", EF_WARNING, "a bin without a cost, others have one")                           \
    X(COUNT_ODD, "count-odd", EF_WARNING, "more machines side by side than a station has")                                 \
    X(CAPACITY_ODD, "capacity-odd", EF_WARNING, "a capacity that no station has")                                          \
    X(PRICE_MISSING, "price-missing", EF_WARNING, "one product has no price, others do")                                   \
    X(PURITY_OF_REJECT, "purity-of-reject", EF_WARNING, "a least purity where no product arrives")                         \
    X(PRODUCT_TO_WASTE, "product-to-waste", EF_WARNING, "a product that is thrown away")                                   \
    /* bins in steel */                                                                                                    \
    X(STEEL_UNFIT, "steel-unfit", EF_ERROR, "a dimension that does not go with the shape of the bin")                      \
    X(STANDARD_BIN_INCOMPLETE, "standard-bin-incomplete", EF_ERROR, "a standard bin without all its dimensions")           \
    X(BIN_SIZE_ODD, "bin-size-odd", EF_ERROR, "a bin of a size that no bin has")                                           \
    X(OUTLET_WIDE, "outlet-wide", EF_ERROR, "an outlet as wide as its bin")                                                \
    X(INLET_OUTSIDE, "inlet-outside", EF_ERROR, "a bin that is filled from outside its walls")                             \
    X(FREEBOARD_OVER, "freeboard-over", EF_ERROR, "a freeboard that leaves nothing of the bin")                            \
    X(HEADROOM_SHORT, "headroom-short", EF_ERROR, "a bin higher than its headroom")                                        \
    X(REPOSE_MISSING, "repose-missing", EF_ERROR, "a volume that goes by the angle of repose, which the crop lacks")       \
    X(STEEL_INCOMPLETE, "steel-incomplete", EF_WARNING, "some dimensions of a bin, but not all")                           \
    X(LIVE_VOLUME_APART, "live-volume-apart", EF_WARNING, "a live volume that does not follow from the dimensions")        \
    X(HOPPER_FLAT, "hopper-flat", EF_WARNING, "a hopper on which material stays behind")                                   \
    X(OUTLET_ARCHES, "outlet-arches", EF_WARNING, "an outlet so narrow that kernels bridge it")                            \
    X(OUTLET_SHORT, "outlet-short", EF_WARNING, "an outlet that passes less than the next station takes")                  \
    X(WALL_FRICTION_ODD, "wall-friction-odd", EF_WARNING, "a wall friction that seed and grain do not have")               \
    X(PARTICLE_SIZE_ODD, "particle-size-odd", EF_WARNING, "a size that no kernel has")                                     \
    X(NAMES_ALIKE, "names-alike", EF_WARNING, "two names that differ only in case, blanks or hyphens") \
    /* lots and season */                                                                                                  \
    X(LEFT_OVER, "left-over", EF_ERROR, "more of a lot is left than it ever held")                                         \
    X(LOT_TIMES, "lot-times", EF_ERROR, "an arrival whose latest moment is before its earliest")                           \
    X(LOT_OUTSIDE, "lot-outside", EF_ERROR, "a lot that comes or starts after the season")                                 \
    X(AFTER_LOOP, "after-loop", EF_ERROR, "lots that wait for each other in a ring")                                       \
    X(LOT_PLACE_MISSING, "lot-place-missing", EF_ERROR, "a frozen or running lot without its line or start")               \
    X(RUNNING_TWICE, "running-twice", EF_ERROR, "two lots running on one line")                                            \
    X(LOT_WITHOUT_LINE, "lot-without-line", EF_ERROR, "a lot that none of its lines can run")                              \
    X(STORE_SHARED, "store-shared", EF_ERROR, "a raw store that is to hold several lots at once")                          \
    X(CLASSES_MISSING, "classes-missing", EF_ERROR, "a rule for classes that go down or up, but they have no order")       \
    X(CHANGEOVER_NEVER, "changeover-never", EF_ERROR, "a changeover that must never be and yet is described")              \
    X(CHANGEOVER_UNUSED, "changeover-unused", EF_WARNING, "a rule for cleaning that never applies")                        \
    X(DUE_EARLY, "due-early", EF_WARNING, "a lot that must be done or begun before it is there")                           \
    X(LOT_DONE_ODD, "lot-done-odd", EF_WARNING, "a done lot with something left, or without its line")                     \
    X(STORE_SMALL, "store-small", EF_WARNING, "stores that together hold less than one of the lots")                       \
    X(CLEANING_FREE, "cleaning-free", EF_WARNING, "cleaning or flushed seed that costs nothing")                           \
    /* logs of a plant */                                                                                                  \
    X(LOG_EMPTY, "log-empty", EF_ERROR, "a log without a row that can be used")                                            \
    X(LOG_TIME, "log-time", EF_WARNING, "a time in a log that cannot be read as it stands")                                \
    X(LOG_NAME, "log-name", EF_WARNING, "a name in a log that the scenario does not have")                                 \
    X(LOG_LENGTH, "log-length", EF_WARNING, "an end at or before its beginning")                                           \
    X(LOG_OPEN, "log-open", EF_WARNING, "a stop without an end")                                                           \
    X(LOG_OVERLAP, "log-overlap", EF_WARNING, "two rows of a log at the same time")                                        \
    X(LOG_ORDER, "log-order", EF_WARNING, "rows of a log out of order")                                                    \
    X(LOG_TWICE, "log-twice", EF_WARNING, "the same row stands twice in a log")                                            \
    X(LOG_CLOCK, "log-clock", EF_WARNING, "a time near a night on which the clock is changed")                             \
    X(LOG_AMOUNT, "log-amount", EF_WARNING, "an amount in a log that cannot be used as it stands")                         \
    X(LOG_LOCKOUT, "log-lock-out", EF_WARNING, "a stop shorter than its lock-out")                                         \
    X(LOG_REASON, "log-reason", EF_WARNING, "a reason that looks like a misspelt stop of the scenario")         \
    /* plans of a season */                                                                                                \
    X(PLAN_COLUMN, "plan-column", EF_WARNING, "a column that a plan file does not have")                                   \
    X(PLAN_APART, "plan-apart", EF_WARNING, "a plan that says otherwise than the scenario what is not read from it")       \
    X(PLAN_LACKS, "plan-lacks", EF_WARNING, "lots of the scenario that a plan does not name")
/* clang-format on */

#endif
