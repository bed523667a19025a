#!/bin/sh
# What 12 gives up (invented demo data)
# Cuts clips with ffmpeg, frames counted at 30000/1001 a second.
# Usage: sh cut.sh [FILM [FOLDER]]
set -eu
film='harbour v mill, 2nd.mp4'
if [ $# -ge 1 ]; then film=$1; fi
folder=${2:-.}
for tool in ffmpeg ffprobe; do
	command -v "$tool" >/dev/null || { printf '%s is not installed; it comes with the ffmpeg package\n' "$tool" >&2; exit 1; }
done
[ -f "$film" ] || { printf 'film %s is not here; give its path as the first argument\n' "$film" >&2; exit 1; }
mkdir -p -- "$folder"
printf '%s\n' 'What 12 gives up (invented demo data)'
rate=$(ffprobe -v error -select_streams v:0 -show_entries stream=r_frame_rate -of default=nw=1:nk=1 "file:$film" | head -n 1)
if [ "$rate" != 30000/1001 ]; then
	printf 'the film runs at %s frames a second, the list was counted at another rate; write it again at the film'"'"'s\n' "$rate" >&2
	exit 1
fi

# clip START SECONDS FRAMES FILE TITLE COMMENT
clip() {
	ffmpeg -nostdin -v error -n -ss "$1" -t "$2" -i "file:$film" -map 0:v:0 -map '0:a?' \
		-vf setpts=PTS-STARTPTS -frames:v "$3" -c:v libx264 -preset veryfast -crf 18 -pix_fmt yuv420p -c:a aac \
		-movflags +faststart -map_chapters -1 -metadata title="$5" -metadata comment="$6" "file:$folder/$4"
	printf '%s\n' "$4"
}

clip 12.395717 7.540867 226 '001-ball-screen-drop-stop.mp4' 'Ball screen, drop: stop' 'Q2 9:41, 14-12; invented demo data'
clip 62.979583 7.507500 225 '002-closeout-drive-2-points-corner.mp4' 'Closeout & drive --> 2 points <corner>' 'his man'\''s "best" hand; film time in doubt by 1.6 s; invented demo data'
clip 879.995783 19.986633 599 '003-clip-3.mp4' 'clip 3' 'film time in doubt by 0.5 s; invented demo data'
