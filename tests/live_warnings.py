"""What must be said before the first live run, written by hand from the safety specification: slug -> step, level."""

WARNINGS: dict[str, tuple[str, str]] = {
    # who is in the house, who cuts the supply
    "live-local-codes": ("people", "warning"),
    "live-not-alone": ("people", "warning"),
    "live-eyes": ("people", "warning"),
    "live-strap-off": ("people", "warning"),
    # the three marks; a battery under the voltage limit
    "live-trigger-volts": ("danger", "warning"),
    "live-trigger-energy": ("danger", "warning"),
    "live-trigger-source": ("danger", "warning"),
    "live-battery": ("danger", "warning"),
    # meter
    "live-prove-meter": ("meter", "warning"),
    "live-cat-rating": ("meter", "warning"),
    # discharge: two figures, energy left, voltage rating, open bleeder, no screwdriver, resistor left on
    "live-discharge-two-figures": ("discharge", "warning"),
    "live-discharge-still-holds": ("discharge", "warning"),
    "live-discharge-resistor-volts": ("discharge", "warning"),
    "live-bleeder-may-be-open": ("discharge", "warning"),
    "live-no-screwdriver": ("discharge", "warning"),
    "live-leave-resistor-on": ("discharge", "warning"),
    # source: fuse, ratings on DC, isolation, earths
    "live-fuse-at-source": ("source", "warning"),
    "live-rated-for-dc": ("source", "warning"),
    "live-variac-no-isolation": ("source", "warning"),
    "live-residual-current-defeated": ("source", "warning"),
    "live-never-lift-earth": ("source", "warning"),
    "live-earthed-iron": ("source", "warning"),
    "live-no-computer": ("source", "warning"),
    # tabs
    "live-tab-no-short": ("tabs", "warning"),
    "live-insulation-test": ("tabs", "warning"),
    "live-torque-makers": ("tabs", "caution"),
    "live-hold-the-lead": ("tabs", "caution"),
    # series lamp
    "live-lamp-filament-only": ("lamp", "warning"),
    "live-lamp-in-live-conductor": ("lamp", "warning"),
    "live-lamp-isolates-nothing": ("lamp", "warning"),
    "live-lamp-not-behind": ("lamp", "warning"),
    "live-lamp-holder-dc": ("lamp", "warning"),
    "live-lamp-converter-share": ("lamp", "caution"),
    "live-small-bus-first": ("lamp", "caution"),
    # supply on its limit
    "live-limit-set-off": ("limit", "caution"),
    "live-limit-slope": ("limit", "caution"),
    # pre-charge
    "live-precharge-short-behind": ("precharge", "warning"),
    "live-precharge-wait": ("precharge", "caution"),
    "live-precharge-pulse": ("precharge", "caution"),
    # contactor
    "live-close-measured": ("close", "warning"),
    "live-making-current": ("close", "warning"),
    "live-contactor-dc": ("close", "warning"),
    # steps, start
    "live-steps-only-resistive": ("raise", "caution"),
    "live-converter-highest-at-lowest": ("raise", "caution"),
    "live-off-between-steps": ("raise", "warning"),
    "live-abort-no-discussion": ("abort", "warning"),
    # soak
    "live-cover-on": ("soak", "warning"),
    "live-touch-only-off": ("soak", "warning"),
    "live-soak-thermocouple": ("soak", "caution"),
    "live-shiny-reads-low": ("soak", "caution"),
    # off
    "live-off-order": ("off", "warning"),
    "live-low-volts-before-touch": ("off", "warning"),
}
