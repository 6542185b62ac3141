"""Bookings: which find goes to which specialist on which half-day, so that as little as can be is late.

Front doors
-----------
plan.plan_bookings : the plan with its proof or its gap, what is late and why, what could not be planned.
remedies.what_helps : what would make it less late, each tried.
queue.order_queue : the order of one specialist's queue.
"""
