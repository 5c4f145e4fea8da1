# The programs of tests/examples, built against the installed library as their authors would.

load staged

setup_file() { stage_installation; }
setup() {
    skip_when_sanitized
    cd "$BATS_TEST_TMPDIR"
}

compile() { # the example $1
    cc -std=c99 -Wall -Wextra -pedantic -Werror $(pkg-config --cflags brineband) \
        "$root/tests/examples/$1.c" $(pkg-config --libs brineband) -o "$1"
}

@test "a visit is fitted in memory" {
    compile fit_visit
    ./fit_visit >said
    diff - said <<'END'
wet sand: 17 to 21
thin ring, 5 cm under it: 33 to 35
END
}

@test "readings are streamed from another program" {
    compile stream_readings
    awk 'BEGIN { print "zone,target,depth_cm,reading"
                 for (i = 0; i < 100000; i++) printf "wet,sand,,%d\n", -3 + i % 3 }' | ./stream_readings >said
    diff - said <<'END'
100000 sweeps in 3 distinct cells
  -3 33334
  -2 33333
  -1 33333
END
}

@test "a stream that breaks tells where" {
    compile stream_readings
    run ./stream_readings <<'END'
zone,target,depth_cm,reading
wet,sand,,12
wet,sand,,-21
END
    [ "$status" -eq 1 ]
    [[ "$output" == "standard input:3:4: found \"-21\", accepted "* ]]
}

@test "bands are chosen from a caller's own distributions" {
    compile choose_bands
    ./choose_bands >said
    diff - said <<'END'
within both limits: reject 2-4 7-7; sand quiet in 100 %, ring lost in 10 %
the ring first: reject 2-3 7-7; sand quiet in 80 %, ring lost in 0 %
quiet first: reject 2-4 7-7; sand quiet in 100 %, ring lost in 10 %
END
}
