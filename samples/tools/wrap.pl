#!/usr/bin/perl
# wrap.pl KEY=VALUE...: puts raw little-endian PCM into a RIFF WAVE file.
#
# raw= wav= rate= channels= bits=   what goes in and out
# description= originator= date= time= timeref=   a bext chunk (EBU Tech 3285
#                                   version 1); timeref in samples since midnight
# scene= take= tape= note= tracks=A,B   an iXML chunk; 25 frames/s, non-drop
# cue=SAMPLE:LABEL,...              cue points with their labels
use strict;
use warnings;

my %o = map { /^(\w+)=(.*)$/s or die "wrap: got $_, want KEY=VALUE\n"; ($1, $2) } @ARGV;
my ($rate, $channels, $bits) = @o{qw(rate channels bits)};
my $block = $channels * $bits / 8;

sub chunk { my ($id, $body) = @_; return $id . pack('V', length $body) . $body . (length($body) % 2 ? "\0" : '') }

# WAVE_FORMAT_EXTENSIBLE where there are more than two channels or more than
# 16 bits, as the format asks.
sub fmt {
    my $head = pack('vvVVvv', ($channels > 2 || $bits > 16) ? 0xFFFE : 1, $channels, $rate, $rate * $block, $block, $bits);
    return $head unless $channels > 2 || $bits > 16;
    my $guid = "\x01\x00\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71";
    return $head . pack('vvV', 22, $bits, 0) . $guid;
}

sub bext {
    my $ref = $o{timeref};
    return pack('a256a32a32a10a8VVv', $o{description}, $o{originator}, $o{tape} || '', $o{date}, $o{time},
        $ref % 4294967296, int($ref / 4294967296), 1) . ("\0" x 254)
        . "A=PCM,F=$rate,W=$bits,M=" . ($channels == 1 ? 'mono' : $channels == 2 ? 'stereo' : 'multi') . "\r\n";
}

sub ixml {
    my @track = split /,/, $o{tracks};
    my $list = join '', map {
        my $n = $_ + 1;
        "<TRACK><CHANNEL_INDEX>$n</CHANNEL_INDEX><INTERLEAVE_INDEX>$n</INTERLEAVE_INDEX><NAME>$track[$_]</NAME></TRACK>"
    } 0 .. $#track;
    my $ref = $o{timeref};
    return qq(<?xml version="1.0" encoding="UTF-8"?>\n<BWFXML><IXML_VERSION>1.5</IXML_VERSION><PROJECT>The Far Bank</PROJECT>)
        . "<SCENE>$o{scene}</SCENE><TAKE>$o{take}</TAKE><TAPE>$o{tape}</TAPE><NOTE>$o{note}</NOTE><CIRCLED>FALSE</CIRCLED>"
        . "<SPEED><MASTER_SPEED>25/1</MASTER_SPEED><CURRENT_SPEED>25/1</CURRENT_SPEED><TIMECODE_RATE>25/1</TIMECODE_RATE>"
        . "<TIMECODE_FLAG>NDF</TIMECODE_FLAG><FILE_SAMPLE_RATE>$rate</FILE_SAMPLE_RATE><AUDIO_BIT_DEPTH>$bits</AUDIO_BIT_DEPTH>"
        . '<TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>' . int($ref / 4294967296) . '</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>'
        . '<TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO>' . $ref % 4294967296 . '</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO></SPEED>'
        . '<TRACK_LIST><TRACK_COUNT>' . @track . "</TRACK_COUNT>$list</TRACK_LIST></BWFXML>\n";
}

sub cues {
    my @cue = map { [split /:/] } split /,/, $o{cue};
    my ($n, $points, $labels) = (0, '', '');
    for my $c (@cue) {
        $n++;
        $points .= pack('VVa4VVV', $n, $c->[0], 'data', 0, 0, $c->[0]);
        $labels .= chunk('labl', pack('V', $n) . "$c->[1]\0");
    }
    return chunk('cue ', pack('V', $n) . $points) . chunk('LIST', "adtl$labels");
}

open(my $in, '<:raw', $o{raw}) or die "wrap: $o{raw}: $!\n";
my $pcm = do { local $/; <$in> };
die "wrap: $o{raw}: got " . length($pcm) . " bytes, want whole frames of $block\n" if length($pcm) % $block;

my $body = 'WAVE';
$body .= chunk('bext', bext()) if defined $o{timeref};
$body .= chunk('fmt ', fmt());
$body .= chunk('data', $pcm);
$body .= chunk('iXML', ixml()) if defined $o{scene};
$body .= cues() if defined $o{cue};
open(my $out, '>:raw', $o{wav}) or die "wrap: $o{wav}: $!\n";
print $out 'RIFF' . pack('V', length $body) . $body;
close $out or die "wrap: $o{wav}: $!\n";
