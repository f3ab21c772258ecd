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
        cases.append(dict(id=f'chi-square-{nu}-{p}',inputs=dict(kind='chiSquareQuantile',probability=p,degreesOfFreedom=nu),expected=dict(quantile=f(x)),tolerance=3e-13))
# Tails in relative digits. Small parameters: the library's regularised incomplete functions on the smaller side; large ones: the
# density integrated outward from x in panels of one decay length, scaled to 1 at x (the quadrature's stopping rule is absolute).
mp.dps=50
def outward(log_density, x, decay, sign, low=None, high=None):
    points=[x+sign*decay*k for k in range(0,161)]
    points=[p for p in points if (low is None or p>low) and (high is None or p<high)]
    peak=log_density(x)
    return sign*quad(lambda u: exp(log_density(u)-peak), points)*exp(peak)
def gamma_tails(x, a):
    x=mpf(x);a=mpf(a)
    if a<=200: return gammainc(a,0,x,regularized=True), gammainc(a,x,inf,regularized=True)
    up=x>a
    tail=outward(lambda u:(a-1)*log(u)-u-loggamma(a), x, 1/max(abs(1-(a-1)/x),1/sqrt(a)), 1 if up else -1, low=0)
    return (1-tail,tail) if up else (tail,1-tail)
def odds_tails(odds, a, b):
    odds=mpf(odds);a=mpf(a);b=mpf(b);x=odds/(1+odds);y=1/(1+odds)
    if max(a,b)<=1000: return betainc(a,b,0,x,regularized=True), betainc(b,a,0,y,regularized=True)
    c=loggamma(a+b)-loggamma(a)-loggamma(b)
    up=x>a/(a+b)
    s=log(odds)
    tail=outward(lambda u:c-a*log1p(exp(-u))-b*log1p(exp(u)), s, 1/max(abs(a*y-b*x),sqrt((a+b)*x*y)), 1 if up else -1)
    return (1-tail,tail) if up else (tail,1-tail)
def beta_tails(x, a, b): return odds_tails(mpf(x)/(1-mpf(x)),a,b)
def f_tails(value, d1, d2): return odds_tails(mpf(value)*d1/d2,mpf(d1)/2,mpf(d2)/2)
def t_tails(t, nu):
    upper=odds_tails(mpf(t)**2/mpf(nu),mpf('0.5'),mpf(nu)/2)[1]/2
    return 1-upper, upper
def tail_case(kind, tails, **inputs):
    lower,upper=tails(*inputs.values())
    expected={}
    if lower>mpf(10)**-300: expected['lower']=f(lower)
    if upper>mpf(10)**-300: expected['upper']=f(upper)
    name='-'.join([kind]+[repr(v) for v in inputs.values()])
    cases.append(dict(id=name,inputs=dict(kind=kind,**inputs),expected=expected,tolerance=3e-13,absoluteTolerance=1e-320))
for a in [0.001,0.25,0.5,0.9,1,2.5,9.5,25,99,100,150,1000,12345.6,1e6]:
    for z in [-36,-8,-2,0,0.3,5,30]:
        x=a*max(1e-3,1-1/(9*a)+z/(3*a**.5))**3 if a>5 else a*10**(z/4)
        tail_case('gammaTail',gamma_tails,x=float('%.6g'%x),shape=a)
for a,b in [(0.25,0.25),(0.5,3),(2,0.5),(3,7),(30,60),(99,101),(0.5,500),(500,0.5),(150,2),(1e6,5e5),(1e6,3),(2.5,1e5)]:
    for z in [-30,-8,-1,0.2,3,20]:
        odds=a/b*float(exp(z*sqrt(1/mpf(a)+1/mpf(b))))
        x=float('%.7g'%(odds/(1+odds)))
        if 0<x<1: tail_case('betaTail',beta_tails,x=x,a=a,b=b)
for d1,d2 in [(0.5,0.5),(1,5),(4,20),(120,7),(300,400),(3,1e6),(1e6,1e6)]:
    for z in [-20,-3,0.1,3,20]:
        tail_case('fTail',f_tails,value=float('%.7g'%float(exp(z*sqrt(mpf(2)/d1+mpf(2)/d2)))),numerator=d1,denominator=d2)
for nu in [0.5,1,2,3.7,10,99,150,500,10000,1e6]:
    for t in [0.001,0.7,1.2,2,4.5,37,1e20]:
        tail_case('studentTTail',t_tails,t=t,degreesOfFreedom=nu)
def quantile_case(kind, tails, start, p, **parameters):
    side=0 if p<=0.5 else 1
    target=mpf(p) if p<=0.5 else 1-mpf(p)
    x0=mpf(float(start))
    g=lambda s: log(tails(exp(s),*parameters.values())[side])-log(target)
    s=findroot(g,(log(x0),log(x0)+mpf('1e-9')),solver='secant',tol=1e-30,verify=False)
    assert abs(g(s))<mpf('1e-22'),(kind,p,parameters)
    q=exp(s)
    name='-'.join([kind,repr(p)]+[repr(v) for v in parameters.values()])
    return q,dict(id=name,inputs=dict(kind=kind,probability=p,**parameters),expected=dict(quantile=f(q)),tolerance=3e-13)
for p in [1e-12,0.003,0.4,0.6,0.975,0.9999]:
    for a in [0.25,0.7,3,40,200]: cases.append(quantile_case('gammaQuantile',gamma_tails,stats.gamma.ppf(p,a),p,shape=a)[1])
    for a,b in [(0.5,0.5),(2,5),(40,7),(300,500)]:
        q,c=quantile_case('betaQuantile',odds_tails,stats.beta.ppf(p,a,b)/stats.beta.sf(0,1,1)/max(1e-12,1-stats.beta.ppf(p,a,b)),p,a=a,b=b)
        c['expected']['quantile']=f(q/(1+q)); cases.append(c)
    for d1,d2 in [(1,3),(4,20),(60,7),(500,800)]: cases.append(quantile_case('fQuantile',f_tails,stats.f.ppf(p,d1,d2),p,numerator=d1,denominator=d2)[1])
    if p>0.5:
        for nu in [0.5,1,4,30,700]: cases.append(quantile_case('studentTQuantile',t_tails,stats.t.ppf(p,nu),p,degreesOfFreedom=nu)[1])
mp.dps=40
for x in [1e-5,0.1,0.3,0.49,0.5,0.51,0.9,0.999,1.001,1.4,1.5,1.999,2.0001,2.49,2.51,5.5,9.99,10.1,1e3,1e10]:
    cases.append(dict(id='log-gamma-%r'%x,inputs=dict(kind='logGamma',x=x),expected=dict(logGamma=f(loggamma(mpf(x))),digamma=f(psi(0,mpf(x))),trigamma=f(psi(1,mpf(x)))),tolerance=1e-15*3,absoluteTolerance=1e-300,toleranceByField=dict(digamma=3e-14)))
def count_case(kind, term, low, high, k, **parameters):
    terms=[term(j,*[mpf(v) for v in parameters.values()]) for j in range(low,high+1)]
    name='-'.join([kind,str(k)]+[repr(v) for v in parameters.values()])
    expected=dict(lower=f(fsum(terms[:k-low+1])),upper=f(fsum(terms[k-low:])),probability=f(terms[k-low]))
    cases.append(dict(id=name,inputs=dict(kind=kind,count=k,**parameters),expected=expected,tolerance=3e-13,absoluteTolerance=1e-320))
def choose(n,k): return exp(loggamma(n+1)-loggamma(k+1)-loggamma(n-k+1))
for n,p,ks in [(10,0.3,[0,3,10]),(310,0.003,[0,1,4,30]),(310,0.1,[0,31,200]),(1000,0.5,[200,499,500,700]),(5000,0.0123,[20,61,150])]:
    for k in ks: count_case('binomialTail',lambda j,n,p:choose(n,j)*p**j*(1-p)**(n-j),0,n,k,trials=n,probability=p)
for m,ks in [(0.01,[0,1,5]),(2.5,[0,2,40]),(150,[60,149,260]),(1000,[700,1000,1400])]:
    for k in ks: count_case('poissonTail',lambda j,m:exp(-m+j*log(m)-loggamma(j+1)),0,int(m)*3+200,k,mean=m)
for d,m,n,ks in [(10,5,50,[0,1,5]),(50,60,100,[10,30,45]),(100,2000,100000,[0,2,40]),(800,5000,20000,[100,200,330])]:
    low=max(0,d+m-n); high=min(d,m)
    for k in ks: count_case('hypergeometricTail',lambda j,d,m,n:choose(m,j)*choose(n-m,d-j)/choose(n,d),low,high,k,draws=d,marked=m,total=n)
out='{"topic": "distributions",\n"method": "Tail areas and quantiles from their definitions in 30 to 50 digits: erfc; the noncentral t integral of Phi(t w - delta) over the density of w = sqrt(chi2/nu); the regularised incomplete gamma function inverted by secant steps; tails of the gamma, beta, F and t distributions by the incomplete functions of the library for small parameters and by integrating the density outward for large ones; counts by summing their terms. Every z and probability is the double nearest to the decimal written.",\n"library": "mpmath 1.4.1 (starting points scipy 1.17.1)",\n"notes": {"tolerance": "relative"},\n"cases": [\n'+',\n'.join(json.dumps(c) for c in cases)+'\n]}\n'
open(os.path.join(os.path.dirname(__file__), 'distributions.json'),'w').write(out)
print(len(cases))
