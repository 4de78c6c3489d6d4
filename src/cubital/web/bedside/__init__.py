"""The page *Bedside*: the card, the papers, the label's place, the policy behind them."""
