# SPDX-License-Identifier: GPL-3.0-or-later
# Reads C files of src/ and prints every #include that breaks the order of the floors; exit code 1 when there is one.
#   awk -f tests/floors.awk FILE...
# Includes go down the floors, or stay on one; answers do not include each other, the verifier no solver; a library
# that we wrap is seen by its wrapper alone.

BEGIN {
    count = split("base model shared answers report cli", order, " ")
    for (i = 1; i <= count; i++) floor_of[order[i]] = i
    # Public headers: the floor that defines them. Those of the answers are plain results, which shared/verify reads too.
    public_floor["status"] = public_floor["tongue"] = public_floor["diag"] = public_floor["units"] = floor_of["base"]
    public_floor["scenario"] = floor_of["model"]
    public_floor["report"] = public_floor["picture"] = floor_of["report"]
    # Wrapped libraries: the only place that may include them (how its path starts).
    wrapper["glpk.h"] = "src/shared/lp"
    wrapper["yaml.h"] = "src/model/"
    wrapper["jansson.h"] = "src/report/"
    wrapper["xlsxwriter.h"] = "src/report/workbook/"
}

function refuse(reason) {
    print FILENAME ":" FNR ": " $0 " : " reason
    broken = 1
}

FNR == 1 {
    parts = split(FILENAME, part, "/")
    mine = floor_of[part[2]]
    answer = part[2] == "answers" && parts > 3 ? part[3] : ""
    if (!mine) {
        print FILENAME ": its folder is none of the floors"
        broken = 1
    }
}

/^[ \t]*#[ \t]*include[ \t]*"/ {
    name = $0
    sub(/^[^"]*"/, "", name)
    sub(/".*$/, "", name)
    if (name !~ /\//) next # beside the file itself
    split(name, step, "/")
    theirs = floor_of[step[1]]
    if (name ~ /\.\./ || !theirs) refuse("write it from src/ on")
    else if (theirs > mine) refuse(part[2] " may not use " step[1])
    else if (step[1] == "answers" && part[2] == "answers" && step[2] != answer)
        refuse("answers do not include each other: what both need belongs in shared")
    else if (FILENAME ~ /^src\/shared\/verify/ && name ~ /^shared\/(lp|line|steady|engine|sequencing)/)
        refuse("the verifier uses none of the solvers")
}

/^[ \t]*#[ \t]*include[ \t]*</ {
    name = $0
    sub(/^[^<]*</, "", name)
    sub(/>.*$/, "", name)
    if (name in wrapper && index(FILENAME, wrapper[name]) != 1) refuse("only " wrapper[name] " may")
    if (name ~ /^gsl\//) {
        if (name in seen && seen[name] != FILENAME) refuse("already wrapped by " seen[name])
        seen[name] = FILENAME
    }
    if (name ~ /^evenfeed\//) {
        topic = name
        sub(/^evenfeed\//, "", topic)
        sub(/\.h$/, "", topic)
        theirs = topic in public_floor ? public_floor[topic] : floor_of["shared"]
        if (topic != "evenfeed" && theirs > mine) refuse(part[2] " may not use " name)
        if (answer != "" && topic != answer && topic ~ /^(balance|bins|shift|shift_lots|season|select)$/ && !(answer == "shift" && topic == "shift_lots") && !(answer == "season" && topic ~ /^(balance|shift)$/))
            refuse("answers do not include each other: what both need belongs in shared")
    }
}

END { exit broken }
