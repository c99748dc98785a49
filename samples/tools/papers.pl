#!/usr/bin/perl
# papers.pl PLAN SAMPLES: writes what is on paper: the transcripts, each in a
# format of its own, and truth.json, from the plan that speak.pl made.
#
# The transcripts are as a transcriber would leave them: cues begin and end
# near the speech, not on it. truth.json is exact.
use strict;
use warnings;

my ($plan, $dir) = @ARGV;
my $rate = 16000;
my %name = (Ines => 'Ines Corrigan', Joss => 'Joss Adeyemi', Wilf => 'Wilf Tranter', Petra => 'Petra Vance');
my %file = ('D1-INT1' => 'day1/D1-INT1.wav', 'D1-WILF' => 'day1/D1-WILF.wav', 'D2-INT2' => 'day2/D2-INT2.wav',
    'D2-SLATE' => 'day2/D2-SLATE.wav', 'D2-TONE' => 'day2/D2-TONE.wav', 'D2-WALK' => 'day2/D2-WALK.wav');
my $fps = 25;

my (%reel, @reels);
open(my $in, '<', $plan) or die "papers: $plan: $!\n";
while (<$in>) {
    chomp;
    my ($reel, $who, $kind, $from, $to, $spans, $words, $text) = split /\t/, $_, -1;
    if ($kind eq 'reel') { $reel{$reel} = { length => $to, says => [], sounds => [] }; push @reels, $reel; next }
    my $x = { who => $who, in => $from, out => $to, text => $text, kind => $kind,
        spans => [map { [split /-/] } split /,/, $spans],
        words => [map { /^(.*)@(\d+)-(\d+)$/ or die; [$1, $2, $3] } split / /, $words] };
    push @{ $reel{$reel}{ $kind eq 'say' ? 'says' : 'sounds' } }, $x;
}

sub seconds { my $s = sprintf '%.6f', $_[0] / $rate; $s =~ s/\.?0+$//; return $s }
sub quoted { my $s = shift; $s =~ s/(["\\])/\\$1/g; return qq("$s") }
sub save {
    my ($path, $text) = @_;
    open(my $out, '>:raw', "$dir/$path") or die "papers: $dir/$path: $!\n";
    print $out $text;
    close $out or die "papers: $dir/$path: $!\n";
}

# cues gathers sentences into cues of at most 78 letters by one person, and
# gives each a time that is a little off, by an amount that is always the same.
sub cues {
    my @cue;
    for my $s (@{ $_[0] }) {
        my $last = $cue[-1];
        if ($last && $last->{who} eq $s->{who} && $s->{in} - $last->{out} < 0.55 * $rate && length("$last->{text} $s->{text}") <= 78) {
            $last->{out} = $s->{out};
            $last->{text} .= " $s->{text}";
        }
        elsif (length $s->{text} > 78 && $s->{text} =~ /^(.{30,60},) (.+)$/ && @{ $s->{words} }) {
            # A long sentence runs over two cues.
            my ($a, $b, $n) = ($1, $2, scalar split ' ', $1);
            push @cue, { who => $s->{who}, in => $s->{in}, out => $s->{words}[$n - 1][2], text => $a };
            push @cue, { who => $s->{who}, in => $s->{words}[$n][1], out => $s->{out}, text => $b };
        }
        else { push @cue, { %$s } }
    }
    my $i = 0;
    for my $c (@cue) {
        my ($early, $late) = ((60, 120, 30, 90, 0)[$i % 5], (150, 220, 90, 260)[$i % 4]);
        $c->{in}  -= $early * $rate / 1000;
        $c->{in}   = $cue[$i - 1]{out} if $i && $c->{in} < $cue[$i - 1]{out} && $cue[$i - 1]{who} eq $c->{who};
        $c->{in}   = 0 if $c->{in} < 0;
        $c->{out} += $late * $rate / 1000;
        $cue[$i - 1]{out} = $c->{in} if $i && $cue[$i - 1]{out} > $c->{in};
        $i++;
    }
    return @cue;
}

sub clock {
    my ($t, $sep) = @_;
    my $ms = int($t * 1000 / $rate);
    return sprintf '%02d:%02d:%02d%s%03d', $ms / 3600000, $ms / 60000 % 60, $ms / 1000 % 60, $sep, $ms % 1000;
}

# wrap breaks a cue into two lines near the middle.
sub wrap {
    my $t = shift;
    return $t if length $t <= 42;
    my $best;
    while ($t =~ / /g) {
        my $p = pos($t) - 1;
        $best = $p if !defined $best || abs($p - length($t) / 2) < abs($best - length($t) / 2);
    }
    substr($t, $best, 1) = "\n";
    return $t;
}

sub srt {
    my $n = 0;
    return join '', map { $n++; "$n\n" . clock($_->{in}, ',') . ' --> ' . clock($_->{out}, ',') . "\n" . wrap("$name{$_->{who}}: $_->{text}") . "\n\n" } cues($_[0]);
}

sub vtt {
    my $n = 0;
    return "WEBVTT - D1-WILF\n\nNOTE On the landing, day 1, boom and lavalier.\n\n"
        . join '', map { $n++; "$n\n" . clock($_->{in}, '.') . ' --> ' . clock($_->{out}, '.') . "\n<v $name{$_->{who}}>" . wrap($_->{text}) . "</v>\n\n" } cues($_[0]);
}

# coarse is plain text with a timecode label each 20 to 30 seconds.
sub coarse {
    my ($says, $hours) = @_;
    my ($out, $next, $who) = ('', 0, '');
    for my $s (@$says) {
        if ($s->{in} >= $next * $rate && ($who ne $s->{who})) {
            my $f = int($s->{in} * $fps / $rate);
            $out .= sprintf "%s[%02d:%02d:%02d:%02d]\n", $out ? "\n\n" : '', $hours, $f / $fps / 60, $f / $fps % 60, $f % $fps;
            $next = $s->{in} / $rate + 20;
            $who = '';
        }
        $out .= $who eq $s->{who} ? " $s->{text}" : ($who ? "\n" : '') . "$name{$s->{who}}: $s->{text}";
        $who = $s->{who};
    }
    return "$out\n";
}

sub segments {
    my $id = 0;
    return "[\n" . join(",\n", map {
        my $s = $_;
        my $w = join ', ', map { '{"word": ' . quoted($_->[0]) . ', "start": ' . seconds($_->[1]) . ', "end": ' . seconds($_->[2]) . '}' } @{ $s->{words} };
        '  {"id": ' . $id++ . ', "start": ' . seconds($s->{in}) . ', "end": ' . seconds($s->{out}) . ', "speaker": ' . quoted($name{$s->{who}})
            . ",\n   \"text\": " . quoted($s->{text}) . ",\n   \"words\": [$w]}"
    } @{ $_[0] }) . "\n]\n";
}

# union joins spans that touch or overlap.
sub union {
    my @u;
    for my $s (sort { $a->[0] <=> $b->[0] } @_) {
        if (@u && $s->[0] <= $u[-1][1]) { $u[-1][1] = $s->[1] if $s->[1] > $u[-1][1] }
        else                            { push @u, [@$s] }
    }
    return @u;
}
sub pairs { return '[' . join(', ', map { '[' . seconds($_->[0]) . ', ' . seconds($_->[1]) . ']' } @_) . ']' }

sub truth {
    my @out;
    for my $r (@reels) {
        my $x = $reel{$r};
        my %by;
        push @{ $by{ $_->{who} } }, @{ $_->{spans} } for @{ $x->{says} };
        my @all = union(map { @$_ } values %by);
        my @pause = map { [$all[$_ - 1][1], $all[$_][0]] } grep { $all[$_][0] - $all[$_ - 1][1] >= 0.3 * $rate } 1 .. $#all;
        push @out, join ",\n",
            "    \"file\": \"$file{$r}\"", '    "seconds": ' . seconds($x->{length}),
            '    "speech": {' . join(', ', map { quoted($name{$_}) . ': ' . pairs(union(@{ $by{$_} })) } sort keys %by) . '}',
            '    "pauses": ' . pairs(@pause),
            '    "sounds": [' . join(', ', map { '{"sound": ' . quoted($_->{kind}) . ', "in": ' . seconds($_->{in}) . ', "out": ' . seconds($_->{out}) . ($_->{who} eq '-' ? '' : ', "by": ' . quoted($name{$_->{who}})) . '}' } @{ $x->{sounds} }) . ']',
            '    "sentences": [' . join(',', map {
                "\n      {\"speaker\": " . quoted($name{ $_->{who} }) . ', "in": ' . seconds($_->{in}) . ', "out": ' . seconds($_->{out}) . ', "text": ' . quoted($_->{text}) . '}'
            } @{ $x->{says} }) . (@{ $x->{says} } ? "\n    " : '') . ']';
        $out[-1] = "  \"$r\": {\n$out[-1]\n  }";
    }
    push @out, qq(  "D2-CAM": {\n    "file": "day2/D2-CAM.wav",\n    "follows": "D2-INT2",\n    "starts_earlier": 7.4,\n    "ppm": 40\n  });
    return "{\n" . join(",\n", @out) . "\n}\n";
}

save('day1/D1-INT1.srt', srt($reel{'D1-INT1'}{says}));
save('day1/D1-WILF.vtt', vtt($reel{'D1-WILF'}{says}));
save('day2/D2-INT2.txt', coarse($reel{'D2-INT2'}{says}, 10));
save('day2/D2-WALK.json', segments($reel{'D2-WALK'}{says}));
save('truth.json', truth());
