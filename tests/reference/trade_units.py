"""Actual flow of standard air by the ideal gas."""


def acfm(row):
    standard = float(row["text"].split()[0])
    # 70 °F is 529.67 °R; °C to °R.
    return standard * (1.8 * float(row["temperature_c"]) + 491.67) / 529.67


TOPICS = {"trade_units": acfm}
