# The card: its files, its words, and how it ends when something is wrong.

setup_file() {
    export LC_ALL=C.UTF-8
    cd "$BATS_FILE_TMPDIR"
    mkdir v
    cat >v/beach.ini <<'INI'
[machine]
name = shared set
settings = quick, gain 7
scale_low = 0
scale_high = 80
frequency_khz = 7
coil_diameter_cm = 28
reject_bands = 2
reject_now = 31-34
[beach]
date = 2026-05-09
low_water = 14:10
turn_back = 15:00
water = sea
[zone wet]
wetness = wet
INI
    cat >v/kit.csv <<'CSV'
target,shape,material,diameter_mm,thickness_mm,bore_mm,keep,group
stud,disc,gold 18ct,8,0.5,,yes,small gold
signet,ring,9.3,20,4,17,,gold
foil,other,,,,,,foil
CSV
    cat >v/sweeps.csv <<'CSV'
zone,target,depth_cm,reading
wet,sand,,12 13 12 12 11 12 13 12 12 12 13 12 12 11 12
wet,stud,0,22 21 22 23
wet,stud,4,20 21 21
wet,signet,5,46 46 45
air,stud,5,23 23 22
air,signet,5,47 47 46
air,signet,10,47 46
air,foil,5,21 22
CSV
    "$BRINEBAND" fit v >/dev/null
    export BANDS=$("$BRINEBAND" card v -o v/card.pdf --json | jq -r '.bands | map(join("-")) | join(", ")')
}

setup() {
    cd "$BATS_FILE_TMPDIR"
}

@test "the PDF is one page of A5 that carries the setting, the times and the cautions as text" {
    [ -n "$BANDS" ]
    [ "$(pdfinfo v/card.pdf | awk '/^Pages/ { print $2 }')" = 1 ]
    [ "$(pdfinfo v/card.pdf | awk '/^Page size/ { print $3, $5 }')" = "419.53 595.28" ]
    pdftotext -layout v/card.pdf card.txt
    for words in "$BANDS" REJECT 2026-05-09 "Low water 14:10" "Turn back 15:00" "shared set" \
        "31-34 was dialled in" "Recheck in two minutes" "stale after" "turn your back on the sea" \
        "ammunition" "stud" "foil"; do
        grep -qF "$words" card.txt || { echo "missing: $words"; cat card.txt; false; }
    done
}

@test "the PDF names itself" {
    pdfinfo v/card.pdf | grep -q "^Title: *Card for the beach: reject $BANDS$"
    pdfinfo v/card.pdf | grep -q "^Subject: *shared set .* Quiet: .* Price: "
}

@test "a fixed date gives the same bytes, in every format" {
    export SOURCE_DATE_EPOCH=1778300000
    for format in pdf png svg; do
        "$BRINEBAND" card v -o one.$format >/dev/null
        "$BRINEBAND" card v -o two.$format >/dev/null
        cmp one.$format two.$format
    done
    [ "$(TZ=UTC pdfinfo one.pdf | sed -n 's/^CreationDate: *//p')" = "Sat May  9 00:00:00 2026 UTC" ]
}

@test "a fixed date that is none is today, and one past every calendar is left out" {
    before=$(date -u +%Y%m%d)
    for fixed in "" x 12x; do
        SOURCE_DATE_EPOCH=$fixed "$BRINEBAND" card v -o dated.pdf >/dev/null
        made=$(grep -a -o 'CreationDate (D*:*[0-9]\{8\}' dated.pdf | grep -o '[0-9]*$')
        [ "$made" = "$before" ] || [ "$made" = "$(date -u +%Y%m%d)" ]
    done
    SOURCE_DATE_EPOCH=99999999999999999999 "$BRINEBAND" card v -o undated.pdf >/dev/null
    ! grep -a -q CreationDate undated.pdf
}

@test "a phone's picture has a phone's shape" {
    "$BRINEBAND" card v -o phone.PNG --phone >/dev/null
    [ "$(od -An -tu1 -j16 -N8 phone.PNG | tr -s ' ')" = " 0 0 4 56 0 0 8 112" ] # 1080 by 2160
}

@test "an SVG carries a title and a description" {
    "$BRINEBAND" card v -o card.svg >/dev/null
    grep -qF "<title>Card for the beach: reject $BANDS</title>" card.svg
    grep -q "<desc>shared set .*</desc>" card.svg
}

@test "a setting of one's own stands on the card, beside the suggested one" {
    run "$BRINEBAND" card v -o own.pdf --bands 5-20,40-41 --json
    [ "$status" -eq 0 ]
    [ "$(echo "$output" | jq -c .bands)" = '[[5,20],[40,41]]' ]
    pdftotext -layout own.pdf - | grep -qF "5-20, 40-41"
    pdftotext -layout own.pdf - | grep -qF "Your own choice. Suggested here: $BANDS."
}

@test "a card from a profile older than its sweeps says so" {
    cp -rp v old
    "$BRINEBAND" card old -o now.pdf
    ! pdftotext now.pdf - | tr '\n' ' ' | grep "fit again"
    touch -d "+1 minute" old/sweeps.csv
    "$BRINEBAND" card old -o then.pdf
    pdftotext then.pdf - | tr '\n' ' ' | grep "Older than this visit's files: fit again"
}

@test "a profile alone carries no time of day: the card leaves room to write it" {
    cp v/profile.json alone.json
    "$BRINEBAND" card alone.json -o alone.pdf >/dev/null
    pdftotext -layout alone.pdf - | grep -q "Turn back __:__"
    ! pdftotext -layout alone.pdf - | grep -q "15:00"
}

@test "wrong command lines end with 2 and write nothing" {
    run "$BRINEBAND" card v
    [ "$status" -eq 2 ]
    [[ "$output" == *"-o FILE is missing"* ]]
    run "$BRINEBAND" card v -o card.gif
    [ "$status" -eq 2 ]
    [[ "$output" == *".pdf, .png or .svg"* ]]
    [ ! -e card.gif ]
    run "$BRINEBAND" card v -o none.pdf --bands 5-90
    [ "$status" -eq 2 ]
    [ ! -e none.pdf ]
}

@test "a place that cannot be written ends with 5 and leaves nothing behind" {
    run "$BRINEBAND" card v -o no/such/folder/card.pdf
    [ "$status" -eq 5 ]
    [[ "$output" == *"no/such/folder/card.pdf: cannot write"* ]]
    mkdir -p taken.pdf
    run "$BRINEBAND" card v -o taken.pdf
    [ "$status" -eq 5 ]
    [ -z "$(ls -d taken.pdf.* 2>/dev/null)" ]
}

fonts_of() { # a folder: the system has the fonts in it alone
    printf '<?xml version="1.0"?><fontconfig><dir>%s</dir><cachedir>%s/cache</cachedir></fontconfig>' "$1" "$1" >"$1/fonts.conf"
    export FONTCONFIG_FILE=$1/fonts.conf
}

@test "one font of another family is enough" {
    mkdir one
    cp "$(fc-list -f '%{file}\n' 'DejaVu Serif:style=Book' | head -n 1)" one
    fonts_of "$PWD/one"
    "$BRINEBAND" card v -o serif.pdf >/dev/null
    [ "$(pdffonts serif.pdf | tail -n +3 | grep -vc DejaVuSerif)" = 0 ]
    pdftotext -layout serif.pdf - | grep -q "Turn back 15:00"
    [ "$(pdfinfo serif.pdf | awk '/^Pages/ { print $2 }')" = 1 ]
}

@test "without any font it says what is needed" {
    mkdir none
    fonts_of "$PWD/none"
    run "$BRINEBAND" card v -o none.png
    [ "$status" -eq 5 ]
    [[ "$output" == *"this system has no fonts"*"fonts-dejavu-core"* ]]
    [ ! -e none.png ]
}

@test "without Cairo and Pango a picture ends with a sentence, and words do without them" {
    cc -shared -x c /dev/null -o libpangocairo-1.0.so.0
    LD_LIBRARY_PATH=$PWD run "$BRINEBAND" card "$BATS_FILE_TMPDIR/v" -o card.pdf
    [ "$status" -eq 5 ]
    [[ "$output" == *"a picture needs Pango and Cairo (Debian: libpangocairo-1.0-0)"* ]]
    [ ! -e card.pdf ]
    LD_LIBRARY_PATH=$PWD "$BRINEBAND" reject "$BATS_FILE_TMPDIR/v"
}
