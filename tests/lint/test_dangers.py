"""Sentences that would hurt somebody are caught, and sentences that warn are not.

Written by hand before the list of danger words was asked about any: of the first thirty eleven were
found, of the next fifteen six, of ten far-fetched ones none. The list was then widened by the kind
of act. So lint catches the kinds it knows; a reviewer still reads every sentence.
"""

import pytest

from build_tools.lint.dangers import acts_of, dangers
from tests.shipped import CATALOGUE

DOCUMENT = CATALOGUE.documents["vocabulary", "dangers"].value
ACTS = acts_of(tuple(dangers(DOCUMENT)))
DANGEROUS = """
Use a 30 A fuse where a 15 A one blows.
Put in the next bigger fuse and see whether it holds.
Wrap the blown fuse in foil to get home.
Loosen the radiator cap while it steams to let the pressure off.
Pour cold water over the hot engine to cool it down.
Spray starting fluid into the air intake while a friend cranks.
Siphon the fuel out with your mouth.
Smoke while you check the battery if you must.
Stand in front of the car while your friend starts it in gear.
Hold the spark plug wire near the block and look for a spark.
Short the starter solenoid with a spanner and it will turn.
Feel with your fingers whether the fan belt is tight while it turns.
Prop the car on bricks and work under it.
Leave the engine running in the closed garage for half an hour.
Clean the terminals with the engine running.
Add battery acid until the plates are covered.
Charge the swollen battery slowly overnight.
Jump a frozen battery after warming it by the heater.
Bypass the neutral switch with a piece of wire.
Cut the orange cable's cover to see the copper.
Probe the yellow airbag connector with the meter on ohms.
Check the airbag plug for 12 volts with a test lamp.
Drive with the brake lamp lit as long as the pedal feels firm.
Keep going with the oil lamp lit until the next town.
Drive faster so the temperature needle comes down.
Connect the jump cables the other way round if nothing happens.
Take the battery out while the engine idles to test the alternator.
Touch the two jump clips together to see whether there is power.
Let a helper watch the phone app at the wheel on the highway.
Bridge the fuel pump relay with a paper clip and leave it there.
If the 10 A keeps blowing, put in a 20 A.
Swap the 7.5 A fuse for a 15 A.
Tilt the battery and drain the acid into a bottle.
Warm the battery on the stove before you charge it.
Hold the starter's wire to the positive post with pliers.
Crawl in below the car while it stands on the jack.
Tow it with the key out of the lock.
Hose the engine bay down while it runs.
Disconnect the alternator while the engine runs.
Run the engine with the garage door half shut.
Ask a child to hold the flashlight beside the fan.
Remove the fuel cap and look in with a lighter.
Lay the wrench across the battery while you work.
Push the brake lamp's bulb out and drive on.
Unplug the airbag and drive without it.
Replace the fusible link with a piece of copper wire.
Straighten the airbag connector's pins with a needle.
Hold your palm over the carburetor while somebody cranks.
Sniff at the battery's vent to see whether it gasses.
Weld the bracket with the battery still connected.
Wear your ring and watch; the posts are covered anyway.
Open the hood while flames come out of it.
Squeeze the hot radiator hose right after the drive.
""".strip().splitlines()
HARMLESS = """
Never use a 30 A fuse where a 15 A one blows.
Fit a fuse with the same number on it.
Do not drive with the oil lamp lit.
Leave yellow plugs and orange cables alone.
Look at the belt with the engine off and the key out.
Read the volts while a helper turns the key.
Nobody gets under a car that only a jack holds.
A frozen battery is neither charged nor jumped.
Let the engine cool for half an hour before you look at the level.
Write down the code and clear nothing.
The clamp on the minus post is hot to the touch after a start.
A relay that clicks need not close.
""".strip().splitlines()


@pytest.mark.parametrize("sentence", DANGEROUS)
def test_what_would_hurt_is_found_wherever_it_stands(sentence):
    assert ACTS.told_in(sentence, step=False)


@pytest.mark.parametrize("sentence", HARMLESS)
def test_what_warns_or_harms_nobody_is_not(sentence):
    assert not ACTS.told_in(sentence, step=False)
