"""Writes distributions.json beside itself. Needs Python with mpmath and scipy."""
import json
import os
from mpmath import *
from scipy import stats
mp.dps=50
f=lambda x: float(nstr(x,17))
cases=[]
def Q(z): return erfc(mpf(z)/sqrt(mpf(2)))/2
for z in ['-9','-3.5','-1','-0.6','-0.5','-0.25','0','0.1','0.49','0.5','0.51','1','2','3','4.5','6','7.3','8','9.19','9.2','12','20','30','37']:
    zz=float(z); q=Q(mpf(zz)); cases.append(dict(id='normal-tail-'+z,inputs=dict(kind='normalTail',z=zz),expected=dict(upperTail=f(q),logUpperTail=f(log(q)) ),tolerance=1e-14,absoluteTolerance=1e-320))
for p in ['1e-300','1e-20','1e-9','0.00135','0.025','0.2','0.4','0.5','0.7','0.95','0.975','0.99865','0.9999']:
    pp=float(p); z=mpf(0) if pp==.5 else findroot(lambda x: log(erfc(-x/sqrt(mpf(2)))/2)-log(mpf(pp)), mpf(float(stats.norm.ppf(pp))) if pp>1e-290 else mpf('-37.0471'))
    cases.append(dict(id='normal-quantile-'+p,inputs=dict(kind='normalQuantile',probability=pp),expected=dict(quantile=f(z)),tolerance=1e-14,absoluteTolerance=1e-15))
mp.dps=30
def cdf(t,nu,d):
    nu=mpf(nu);t=mpf(t);d=mpf(d);c=2*exp(nu/2*log(nu/2)-loggamma(nu/2)); s=1/sqrt(2*nu)
    lo=max(mpf('0.02'),1-14*s)
    pts=[mpf(0)]+linspace(lo,1+14*s,40)+[1+40*s]
    return quad(lambda w:c*w**(nu-1)*exp(-nu*w*w/2)*ncdf(t*w-d),pts)
for t,nu,d in [(-1,1,0),(0.7,2,0),(5,1,3),(12,2,10),(8,4,7.5),(-2.5,4,-3),(3,9,3.5),(14,9,12.6),(21.9,29,18),(20,29.5,20),(45,99,39.9),(70,299,75),(80,299,75)]:
    cases.append(dict(id=f'noncentral-t-{t}-{nu}-{d}',inputs=dict(kind='noncentralT',t=t,degreesOfFreedom=nu,noncentrality=d),expected=dict(cumulative=f(cdf(t,nu,d))),tolerance=1e-11))
mp.dps=30
for nu in [0.5,1,2,3.7,9,19,49,124,499.5,10000]:
    for p in [1e-6,0.005,0.05,0.5,0.975,0.9995]:
        x0=float(stats.chi2.ppf(p,nu)); n=mpf(nu)
        x=findroot(lambda x: gammainc(n/2,0,x/2,regularized=True)-mpf(p), (mpf(x0)*(1-mpf('1e-9')),mpf(x0)*(1+mpf('1e-9'))),solver='secant',tol=1e-28,verify=False)
        assert abs(x/x0-1)<1e-8,(nu,p,x,x0)
        cases.append(dict(id=f'chi-square-{nu}-{p}',inputs=dict(kind='chiSquareQuantile',probability=p,degreesOfFreedom=nu),expected=dict(quantile=f(x)),tolerance=1e-10))
out='{"topic": "distributions",\n"method": "Tail areas and quantiles from their definitions in 30 to 50 digits: erfc; the noncentral t integral of Phi(t w - delta) over the density of w = sqrt(chi2/nu); the regularised incomplete gamma function inverted by secant steps. Every z and probability is the double nearest to the decimal written.",\n"library": "mpmath 1.4.1 (starting points scipy 1.17.1)",\n"notes": {"tolerance": "relative"},\n"cases": [\n'+',\n'.join(json.dumps(c) for c in cases)+'\n]}\n'
open(os.path.join(os.path.dirname(__file__), 'distributions.json'),'w').write(out)
print(len(cases))
