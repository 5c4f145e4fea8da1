# The JSON Schema of a profile, checked by a validator that is not ours.

setup() {
    cd "$BATS_TEST_DIRNAME/../.."
    python3=/usr/bin/python3 # where the system's package is seen
    [ -x "$python3" ] || python3=python3
}

@test "the schema accepts the sample and refuses what it says it can" {
    "$python3" -c 'import jsonschema' || skip "python3-jsonschema is not installed"
    "$python3" tests/schema.py
}
