# SPDX-License-Identifier: GPL-3.0-or-later
# A line of n cleaners in a row with a leg and a bin behind each: 4 n stations. Invented.
BEGIN {
    print "evenfeed: 1\nplant: {name: Long line (invented)}\nmaterials: {sound: {wanted: yes}, light: }"
    print "crops: {wheat: {density: 0.78 t/m3, receipt: {sound: rest, light: 9 %}}}\nstations:"
    print "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner 1}"
    for (i = 1; i <= n; i++) {
        deck = i == n
        print "  " (deck ? "Deck" : "Cleaner " i) ":\n    kind: " (deck ? "density separator" : "machine")
        print "    capacity: " (14 - i / 10) " t/h\n    stops: {choke: {between: 9 h, lasts: 8 min}}\n    discharges:"
        print "      lights: {takes: {sound: 0.1 %, light: 30 %}, to: Waste " i "}"
        print "      heavies: {takes: rest, to: " (deck ? "Shed" : "Leg " i) "}"
        if (!deck) {
            print "  Leg " i ": {kind: elevator, capacity: 16 t/h, to: Bin " i "}"
            print "  Bin " i ": {kind: bin, live volume: 5 m3, to: " (i + 1 == n ? "Deck" : "Cleaner " (i + 1)) "}"
        }
        print "  Waste " i ": {kind: outlet, use: waste}"
    }
    print "  Shed: {kind: outlet, product: yes}"
}
