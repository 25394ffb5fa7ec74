"""What a season of logged programs and official sheets says about one skater: counts first, rates where they mean
something.
"""
