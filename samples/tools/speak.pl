#!/usr/bin/perl
# speak.pl SCRIPT WORKDIR: has the synthesisers say every sentence of the
# script and lays the sentences out in time.
#
# Writes WORKDIR/REEL.WHO.raw (dry voice or sound, 16 kHz 16-bit mono, one for
# each who) and WORKDIR/plan.tsv: reel, who, kind, in, out, spans, words, text;
# times in samples at 16 kHz, in and out where the voice starts and stops.
use strict;
use warnings;

my ($script, $work) = @ARGV;
my $rate = 16000;

# Flite's voices tell how long each phone is; espeak-ng's is measured.
my %voice = (
    Ines  => ['flite', 'slt', 'duration_stretch=0.96', 'f0_shift=0.84'],
    Joss  => ['flite', 'rms', 'duration_stretch=0.80', 'f0_shift=1.08'],
    Wilf  => ['flite', 'awb', 'duration_stretch=0.98', 'f0_shift=0.92'],
    Petra => ['espeak', 'en-gb+f4'],
);

# run gives the output of a command called without a shell.
sub run {
    open(my $p, '-|', @_) or die "speak: $_[0]: $!\n";
    binmode $p;
    local $/;
    my $out = <$p>;
    close $p or die "speak: @_ failed\n";
    return defined $out ? $out : '';
}

# samples reads a sound file as 16 kHz 16-bit mono.
sub samples { return unpack 's<*', run('sox', '-D', '-R', @_, '-t', 'raw', '-r', $rate, '-e', 'signed', '-b', 16, '-c', 1, '-L', '-') }

# say returns the samples of a sentence, its voiced spans and its words
# [text, in, out], all counted from the first sample returned.
sub say {
    my ($who, $text) = @_;
    my ($engine, $name, @set) = @{ $voice{$who} or die "speak: no voice for $who\n" };
    my $wav = "$work/say.wav";
    if ($engine eq 'espeak') {
        run('espeak-ng', '-v', $name, '-s', 165, '-w', $wav, $text);
        my @s = samples($wav);
        my ($in, $out) = (0, $#s);
        $in++  while $in < $out  && abs($s[$in]) < 400;
        $out-- while $out > $in && abs($s[$out]) < 400;
        return ([@s[$in .. $out]], [[0, $out - $in + 1]], []);
    }
    my @opt = map { ('--setf', $_) } @set;
    my @phones = map { [split /:/] } split ' ', run('flite', '-voice', $name, @opt, '-t', $text, '-o', $wav, '-psdur');
    my @s = samples($wav);
    my (@spans, @phone, $t);
    $t = 0;
    for my $p (@phones) {
        my $end = int($p->[1] * $rate);
        if ($p->[0] ne 'pau') {
            push @phone, [$t, $end];
            if (@spans && $t - $spans[-1][1] < 0.03 * $rate) { $spans[-1][1] = $end }
            else                                           { push @spans, [$t, $end] }
        }
        $t = $end;
    }
    my ($from, $to) = ($spans[0][0], $spans[-1][1]);
    $to = $#s + 1 if $to > $#s + 1;
    my @clip = @s[$from .. $to - 1];
    for my $i (0 .. 79) { $clip[$i] = int($clip[$i] * $i / 80); $clip[-1 - $i] = int($clip[-1 - $i] * $i / 80) }
    $_ = [$_->[0] - $from, $_->[1] - $from] for @spans, @phone;
    return (\@clip, \@spans, words($name, $text, \@phone));
}

# words shares the phones of a sentence among its words, by the number of
# phones each has alone; no words if the two do not add up.
sub words {
    my ($name, $text, $phone) = @_;
    my (@words, $i);
    $i = 0;
    for my $w (split ' ', $text) {
        (my $plain = $w) =~ s/[^\w']//g;
        my $n = grep { $_ ne 'pau' } split ' ', run('flite', '-voice', $name, '-t', "$plain ", '-o', "$work/word.wav", '-ps');
        return [] if $i + $n > @$phone || !$n;
        push @words, [$w, $phone->[$i][0], $phone->[$i + $n - 1][1]];
        $i += $n;
    }
    return $i == @$phone ? \@words : [];
}

my (%track, %length, @plan, $reel, $tail, $now);
sub finish { $length{$reel} = $now + int($tail * $rate) if defined $reel }

open(my $in, '<', $script) or die "speak: $script: $!\n";
while (<$in>) {
    chomp;
    next if /^\s*(#|$)/;
    if (/^@(\S+) (\S+) (\S+)/) {
        finish();
        ($reel, $now, $tail) = ($1, int($2 * $rate), $3);
        next;
    }
    my ($who, $gap, $text) = /^(\S+) (\S+) (.+)$/ or die "speak: $script:$.: want: who gap text\n";
    my $at = $now + int($gap * $rate);
    if ($text =~ /^\*(\w+)$/) {
        my $sound = $1;
        my @s = samples('-t', 'raw', '-r', $rate, '-e', 'signed', '-b', 16, '-c', 1, '-L', "$work/$sound.raw");
        my $out = $at + ($sound eq 'cough' ? @s : 0);
        push @plan, [$reel, $who, $sound, $at, $at + @s, '', '', ''];
        push @{ $track{"$reel.$sound"} }, [$at, \@s] if $who eq '-';
        push @{ $track{"$reel.$who"} },   [$at, \@s] if $who ne '-';
        $now = $out if $out > $now;
        $now = $at if $at > $now;
        next;
    }
    my ($clip, $spans, $words) = say($who, $text);
    my $out = $at + $spans->[-1][1];
    push @plan, [$reel, $who, 'say', $at, $out,
        join(',', map { ($at + $_->[0]) . '-' . ($at + $_->[1]) } @$spans),
        join(' ', map { "$_->[0]@" . ($at + $_->[1]) . '-' . ($at + $_->[2]) } @$words), $text];
    push @{ $track{"$reel.$who"} }, [$at, $clip];
    $now = $out if $out > $now;
}
finish();

for my $name (sort keys %track) {
    (my $r = $name) =~ s/\.[^.]+$//;
    my @mix = (0) x $length{$r};
    for my $c (@{ $track{$name} }) {
        my ($at, $s) = @$c;
        for my $i (0 .. $#$s) { $mix[$at + $i] += $s->[$i] if $at + $i < @mix }
    }
    $_ = $_ > 32767 ? 32767 : $_ < -32768 ? -32768 : $_ for @mix;
    open(my $out, '>:raw', "$work/$name.raw") or die "speak: $!\n";
    print $out pack('s<*', @mix);
    close $out or die "speak: $!\n";
}
open(my $out, '>', "$work/plan.tsv") or die "speak: $!\n";
print $out join("\t", $_, '', 'reel', 0, $length{$_}, '', '', ''), "\n" for sort keys %length;
print $out join("\t", @$_), "\n" for @plan;
close $out or die "speak: $!\n";
