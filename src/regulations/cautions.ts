/** What to have thought of, in a sentence or two. */
export interface Caution {
  readonly about: string
  readonly text: string
}

/** Before the first transmission; each with its rule, those of the United States. */
export const rulesCautions: readonly Caution[] = [
  {
    about: 'Licence',
    text: 'Only under a licence that covers this band, this power and unattended operation, and only with the call sign that it names (47 CFR 97.119(a)). Many countries want a permit for an unattended station.',
  },
  {
    about: 'Control operator',
    text: 'Somebody answers for every transmission, whoever asked for it (47 CFR 97.103, 97.105), can switch it off at any time, and stops it when told to (97.109(d)). Know how: the word `hold` at the terminal, hold file, hold switch, power.',
  },
  {
    about: 'Identification',
    text: 'The call sign goes out at least every 10 minutes and at the end of a communication (47 CFR 97.119(a)). Elsewhere other intervals hold.',
  },
  {
    about: 'Frequency in use',
    text: 'Listen first, choose a frequency that the local band plan has for packet, share it (47 CFR 97.101), use no more power than needed (97.313(a)). Set levels so that the signal is clean and no wider than it must be (97.307).',
  },
  {
    about: 'What is sent',
    text: 'Nothing enciphered to hide its meaning, no business, no broadcasting (47 CFR 97.113). Messages of third parties are bound to 97.115; who forwards first authenticates the sender or is accountable (97.219).',
  },
  {
    about: "The radio's duty cycle",
    text: 'Packet is full power for as long as it is keyed. Many radios are rated for far less than continuous sending: keep the duty limit below what its maker says, and mind the heat in a closed box.',
  },
  {
    about: 'RF exposure',
    text: 'Evaluate it before the first transmission (47 CFR 97.13(c), 1.1310): `exposure` estimates the distances; keep people at least that far from the antenna.',
  },
]

/** What can hurt whoever works on the station or lives near it. Common practice, no source; local rules come first. */
export const bodilyCautions: readonly Caution[] = [
  {
    about: 'RF burns',
    text: 'Never touch an antenna or an open feed line that may be keyed, at any power. This station keys without warning: switch the radio off, not only the program, before you work on it.',
  },
  {
    about: 'Implants',
    text: 'People with a pacemaker or another implant keep the distance that its maker names. It may be more than the distance of the limits.',
  },
  {
    about: 'Mast and power lines',
    text: 'Put a mast up or down only where it cannot touch a power line whichever way it falls. Look up first.',
  },
  {
    about: 'Climbing',
    text: 'Nobody climbs alone, in wind or wet, or without a harness made for it. Transmitter off first.',
  },
  {
    about: 'Lightning',
    text: "Earth the mast, bond it to the building's earth, put an arrester in the feed line. Disconnect before a storm, never during one.",
  },
  {
    about: 'Batteries',
    text: "Put a fuse at the battery's terminal. Lead-acid batteries give off an explosive gas while they charge: let air through. Lithium ones need their protection circuit and are not charged in frost.",
  },
  {
    about: 'Ears',
    text: 'Open squelch and test tones are loud: take headphones off and turn the volume down before you set levels.',
  },
]
