#!/usr/bin/perl
# sounds.pl WORKDIR: makes the sounds that are not voices: the bell, a cough,
# a slate clap. 16 kHz, 16-bit, mono, no header. The same bytes each time: the
# noise comes from a small generator of its own.
use strict;
use warnings;

my ($work) = @ARGV;
my $rate = 16000;
my $seed = 1;
sub noise { $seed = ($seed * 1103515245 + 12345) % 2147483648; return $seed / 1073741824 - 1 }

sub keep {
    my ($name, @s) = @_;
    open(my $out, '>:raw', "$work/$name.raw") or die "sounds: $!\n";
    print $out pack('s<*', map { int($_ * 32767 + ($_ < 0 ? -0.5 : 0.5)) } @s);
    close $out or die "sounds: $!\n";
}

# A hand bell: partials at the usual ratios of a cast bell, each with its own
# strength and decay in seconds.
my @partials = ([0.5, 0.20, 1.6], [1, 0.25, 1.2], [1.19, 0.18, 0.9], [1.5, 0.10, 0.7], [2, 0.30, 0.8], [2.76, 0.10, 0.35], [4.1, 0.06, 0.15]);
my @bell = map {
    my $t = $_ / $rate;
    my $v = 0;
    $v += $_->[1] * exp(-$t / $_->[2]) * sin(6.283185307179586 * 587 * $_->[0] * $t) for @partials;
    0.5 * $v * ($t < 0.002 ? $t / 0.002 : 1) * ($t > 3.8 ? (4.2 - $t) / 0.4 : 1)
} 0 .. int(4.2 * $rate) - 1;
keep('bell', @bell);

# A cough: two bursts of noise, the second weaker, each through a resonance.
my ($y1, $y2) = (0, 0);
my @cough = map {
    my $t = $_ / $rate;
    my $e = 0;
    for my $b ([0.00, 0.16, 1.0], [0.24, 0.20, 0.6]) {
        my $u = ($t - $b->[0]) / $b->[1];
        $e += $b->[2] * (1 - $u) ** 2 * ($u < 0.06 ? $u / 0.06 : 1) if $u >= 0 && $u < 1;
    }
    my $y = $e * noise() * 0.25 + 1.55 * $y1 - 0.72 * $y2;
    ($y2, $y1) = ($y1, $y);
    $y * 0.35
} 0 .. int(0.46 * $rate) - 1;
keep('cough', @cough);

# A slate clap: one hard click and what the air makes of it.
keep('clap', map { my $t = $_ / $rate; 0.85 * noise() * exp(-$t / 0.018) } 0 .. int(0.2 * $rate) - 1);
