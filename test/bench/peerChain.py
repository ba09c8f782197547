#!/usr/bin/python3
"""Two receivers of stock GNU Radio blocks, as yardsticks for the benchmarks. Not part of the program.

usage: peerChain.py plain|lean FILE.wav...    (first channel, 8 or 16 bit)
Prints one JSON object a file: frames (hex, without FCS), audioS, cpuS (user and system time of the run alone).

Chain of both: low-pass and rational resampler, frequency translation of 1700 Hz to 0 with a channel filter, quadrature
demodulator, symbol synchroniser, binary slicer, differential decoder, HDLC deframer.
'plain' is what one gets by joining the blocks with the filters that the toolkit designs by itself, at 48 kHz;
'lean' is the cheapest chain that we could make of them: short filters, 12 kHz, the low-pass within the resampler.
The values of both (channel filter, timing-error detector, loop bandwidth) are the best of a short search.
"""
import json
import math
import resource
import sys
import wave

import numpy
import pmt
from gnuradio import analog, blocks, digital, filter, gr
from gnuradio.filter import firdes

SYMBOL_HZ = 1200


def read_wav(name):
    with wave.open(name) as file:
        octets = file.readframes(file.getnframes())
        if file.getsampwidth() == 1:
            samples = (numpy.frombuffer(octets, numpy.uint8).astype(numpy.float32) - 128) / 128
        else:
            samples = numpy.frombuffer(octets, '<i2').astype(numpy.float32) / 32768
        return file.getframerate(), samples[:: file.getnchannels()]


def front_end(kind, rate_hz, working_hz):
    divisor = math.gcd(rate_hz, working_hz)
    up, down = working_hz // divisor, rate_hz // divisor
    if kind == 'lean':
        taps = firdes.low_pass(up, rate_hz * up, 3300, 2500)
        return [filter.rational_resampler_fff(up, down, taps)]
    low_pass = filter.fir_filter_fff(1, firdes.low_pass(1, rate_hz, 3300, 500))
    return [low_pass, filter.rational_resampler_fff(interpolation=up, decimation=down)]


def receive(kind, rate_hz, samples, channel_hz=800, transition_hz=1000, loop_bandwidth=0.02):
    working_hz = 12000 if kind == 'lean' else 48000
    symbol_samples = working_hz / SYMBOL_HZ
    filter_count = 32
    # A moving average over 0.6 of a symbol, in the synchroniser's own polyphase filter bank.
    average = numpy.ones(int(filter_count * symbol_samples * 0.6)) / (symbol_samples * 0.6)
    stages = [
        blocks.vector_source_f(samples.tolist()),
        *front_end(kind, rate_hz, working_hz),
        filter.freq_xlating_fir_filter_fcf(
            1, firdes.low_pass(1, working_hz, channel_hz, transition_hz), 1700, working_hz),
        analog.quadrature_demod_cf(working_hz / (2 * math.pi * 500)),
        digital.symbol_sync_ff(
            digital.TED_ZERO_CROSSING, symbol_samples, loop_bandwidth, 1.0, 1.0,
            0.02 * symbol_samples, 1, digital.constellation_bpsk().base(),
            digital.IR_PFB_MF, filter_count, average.tolist()),
        digital.binary_slicer_fb(),
        digital.diff_decoder_bb(2),
        # NRZI: a change of tone is a 0.
        digital.map_bb([1, 0]),
        digital.hdlc_deframer_bp(15, 2048),
    ]
    top = gr.top_block()
    store = blocks.message_debug()
    top.connect(*stages)
    top.msg_connect(stages[-1], 'out', store, 'store')
    before = resource.getrusage(resource.RUSAGE_SELF)
    top.run()
    after = resource.getrusage(resource.RUSAGE_SELF)
    cpu_s = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
    frames = [bytes(pmt.u8vector_elements(pmt.cdr(store.get_message(at)))).hex()
              for at in range(store.num_messages())]
    return frames, cpu_s


if __name__ == '__main__':
    for name in sys.argv[2:]:
        rate_hz, samples = read_wav(name)
        frames, cpu_s = receive(sys.argv[1], rate_hz, samples)
        print(json.dumps({'file': name, 'frames': frames, 'cpuS': cpu_s,
                          'audioS': len(samples) / rate_hz}), flush=True)
