#!/bin/sh
# Fetches the drafts of load sheets as JSON files, with nothing but a shell and curl.
#
#     draft_sheets.sh ADDRESS DEPARTURE FOLDER VEHICLE...
#         ADDRESS    for example http://127.0.0.1:7350
#         DEPARTURE  for example fleets/orrin/departures/crossing-2027
#         VEHICLE    for example fleets/orrin/vehicles/v1
#
# The token is taken from the environment, OSTLER_TOKEN. Stops at the first refusal and shows it.
set -eu
address=$1 departure=$2 folder=$3
shift 3
mkdir -p "$folder"
for vehicle in "$@"; do
    file="$folder/$(basename "$vehicle").json"
    # The header comes from standard input, so that the token is not among the arguments, which others can see.
    if ! printf 'authorization: Bearer %s\n' "$OSTLER_TOKEN" |
        curl --silent --show-error --fail-with-body --output "$file" --header @- \
            --header 'content-type: application/json' \
            --data "{\"departure\": \"$departure\", \"vehicle\": \"$vehicle\"}" \
            "$address/ostler.v1.LoadSheetService/DraftLoadSheet"; then
        cat "$file" >&2
        rm -f "$file"
        exit 1
    fi
    echo "$file"
done
